import { join } from 'node:path'
import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { smallFleet, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringBadly, bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const own = [
  'yard,elevation_ft,working_days,holidays,jobs_per_day',
  'Cinder Gap,6210,Mon-Sat,2026-11-26; 12-25,6',
  'Larch Hollow,,,,',
].join('\n')

describe('the days of a yard’s bench in a fleet folder', () => {
  it('are columns that only a folder has whose fleet says something in them, and come back as they were', () =>
    withFolder((home) =>
      withStore((first) =>
        withStore(async (second) => {
          const written = async (name: string) => {
            await exportFolder(first, join(home, name))
            return readFileSync(join(home, name, 'yards.csv'), 'utf8')
          }
          await bringWell(first, smallFleet())
          expect(await written('old')).toBe(smallFleet()['yards.csv'])
          await bringWell(first, { 'yards.csv': own })
          const text = await written('new')
          expect(text).toBe(
            'yard,elevation_ft,working_days,holidays,jobs_per_day\n' +
              'Cinder Gap,6210,Mon Tue Wed Thu Fri Sat,"12-25, 2026-11-26",6\nLarch Hollow,,,,\n',
          )
          await bringWell(second, { 'yards.csv': text })
          expect(wholeRecord(second)['yard']).toEqual(wholeRecord(first)['yard'])
          const again = await bringWell(second, { 'yards.csv': text })
          expect(again.counts['yards']).toMatchObject({ added: 0, completed: 0 })
        }),
      ),
    ))

  it.each([
    ['working_days', 'Mon-Fry', 'days of the week'],
    ['working_days', 'weekdays', 'days of the week'],
    ['holidays', '2026-02-30', '2026-11-26'],
    ['holidays', '13-01', '12-25 for every year'],
    ['jobs_per_day', '0', 'from 1 to 1,000 jobs'],
    ['jobs_per_day', '2.5', 'a whole number'],
  ])('are refused where %s says %s', (column, text, accepted) =>
    withStore(async (store) => {
      const { problems } = await bringBadly(store, { 'yards.csv': `yard,${column}\nCinder Gap,${text}\n` })
      expect(problems).toMatchObject([{ file: 'yards.csv', line: 2, column }])
      expect(problems[0]?.message).toContain(accepted)
    }),
  )

  it('contradict what is stored where another folder says otherwise', () =>
    withStore(async (store) => {
      await bringWell(store, { 'yards.csv': own })
      const { problems } = await bringBadly(store, { 'yards.csv': 'yard,working_days\nCinder Gap,Mon-Fri\n' })
      expect(problems).toMatchObject([{ file: 'yards.csv', line: 2, column: 'working_days' }])
    }))
})
