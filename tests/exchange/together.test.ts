import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { folderRows, folderText } from '#tests/fleet/folder.ts'
import { addTagTruck } from '#tests/fleet/tag-truck.ts'
import { withFolder, withRows } from '#tests/exchange/small-fleet.ts'
import { bringBadly, bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const truck = (): Record<string, string> => {
  const rows = folderRows()
  rows.scales.push({ scale: 'Pit', division_lb: 20, tolerance_percent: 0.2 })
  addTagTruck(rows, 'D-4', 'Pit', (load) => `2025-03-0${load + 1}T15:00:00Z`)
  return folderText(rows)
}
const row = (group: string, lb: number | '', ticket = '900') =>
  `Pit,${ticket},2025-04-01T15:00:00Z,D-4,${group},${lb},45000`
/** The columns of driver and loading lane stay empty. */
const withTicket = (...rows: string[]) => withRows(truck(), 'tickets.csv', ...rows.map((each) => `${each},,`))
const together = (record: Record<string, unknown[]>) => record['ticket_together']

describe('a weight of two groups in tickets.csv', () => {
  it('stands on one row that names both, in either order, and is the same when it comes again', () =>
    withStore(async (store) => {
      await bringWell(store, withTicket(row('steer', 11_000), row('drive + tag', 34_000)))
      const first = wholeRecord(store)
      expect(together(first)).toEqual([expect.objectContaining({ weight_lb: 34_000 })])
      const { counts } = await bringWell(store, withTicket(row('steer', 11_000), row('tag+drive', 34_000)))
      expect(counts['tickets']).toMatchObject({ added: 0, completed: 0 })
      expect(together(wholeRecord(store))).toEqual(together(first))
      expect(wholeRecord(store)['ticket_weight']).toEqual(first['ticket_weight'])
    }))

  it('is written out and read back as the same record', () =>
    withFolder((home) =>
      withStore(async (first) => {
        await bringWell(
          first,
          withTicket(row('drive+tag', 34_000, '901'), row('steer', 11_000), row('drive+tag', 34_000)),
        )
        await exportFolder(first, join(home, 'one'))
        const text = (folder: string) => readFileSync(join(home, folder, 'tickets.csv'), 'utf8')
        expect(text('one')).toContain(`\n${row('drive + tag', 34_000)}\n`)
        expect(text('one')).not.toContain(',D-4,,')
        await withStore(async (second) => {
          expect((await importFolder(second, join(home, 'one'))).outcome).toBe('stored')
          await exportFolder(second, join(home, 'two'))
          expect(text('two')).toBe(text('one'))
          expect(together(wholeRecord(second))).toHaveLength(2)
          const units = 'select count(*) from ticket_weight where group_id is null'
          expect(second.raw.prepare(units).pluck().get()).toBe(first.raw.prepare(units).pluck().get())
        })
      }),
    ))

  it.each([
    [
      'another weight of the same two',
      [row('drive + tag', 34_000), row('tag + drive', 34_500)],
      'weight_lb',
      'contradicts',
    ],
    ['one of the two alone as well', [row('drive + tag', 34_000), row('tag', 12_000)], 'group', 'another row'],
    ['one of the two alone before', [row('tag', 12_000), row('drive + tag', 34_000)], 'group', 'another row'],
    ['one of the two with a third', [row('drive + tag', 34_000), row('steer + drive', 30_000)], 'group', 'another row'],
    ['a group that is not there', [row('drive + pusher', 34_000)], 'group', 'there is no group'],
    ['one group twice', [row('tag + tag', 34_000)], 'group', 'there is no group'],
    ['no weight', [row('drive + tag', '')], 'weight_lb', 'the group has no weight'],
  ] as const)('is refused with %s', (_, rows, column, said) =>
    withStore(async (store) => {
      const { problems } = await bringBadly(store, withTicket(...rows))
      expect(problems).toHaveLength(1)
      expect(problems[0]).toMatchObject({ file: 'tickets.csv', column })
      expect(problems[0]?.message).toContain(said)
    }),
  )

  it('leaves a group whose own name has a plus to itself', () =>
    withStore(async (store) => {
      const files = withTicket(row('drive+tag', 9000))
      const named = withRows(files, 'axle_groups.csv', 'D-4,drive+tag,lift,1,30,,,ticket')
      await bringWell(store, named)
      expect(together(wholeRecord(store))).toEqual([])
    }))
})
