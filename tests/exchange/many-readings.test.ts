import { describe, expect, it } from 'vitest'
import { openFolderLedger } from '#core/store/folder-ledger.ts'
import { easeManyRows } from '#core/store/rows.ts'
import { smallFleet } from '#tests/exchange/small-fleet.ts'
import { bringBadly, bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const header = 'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift'

/** Readings of tractor and trailer, three rows each, some on a ticket. */
const rows = (readings: number, prefix = 'M'): string[] =>
  Array.from({ length: readings }, (_, index) => {
    const at = new Date(Date.UTC(2025, 7, 1) + index * 60_000).toISOString().replace('.000', '')
    const ticket = index % 7 === 0 ? 'Salt Bend Yard,30417' : ','
    return ['T-101,drive,main', 'V-201,tandem,left', 'V-201,tandem,right'].map(
      (place, side) =>
        `${prefix}${index},${at},${place},${(20 + ((index * 7 + side * 3) % 500) / 10).toFixed(1)},${ticket},,${index % 90},none`,
    )
  }).flat()

const file = (lines: readonly string[]) => ({
  ...smallFleet(),
  'readings.csv': `${smallFleet()['readings.csv'] ?? ''}${lines.join('\n')}\n`,
})

describe('readings by the thousand', () => {
  it('come in as they are written, the second time as the same, and some new ones among them', () =>
    withStore(async (store) => {
      const lines = rows(2500)
      expect((await bringWell(store, file(lines))).counts['readings']).toEqual({
        read: 7516,
        added: 7516,
        completed: 0,
        same: 0,
      })
      expect(
        store.raw.prepare('select count(*), count(ticket_id), count(distinct taken_at) from reading').raw().get(),
      ).toEqual([2506, 363, 2506])
      expect(
        store.raw
          .prepare(
            "select p.psi, r.temperature_f from reading r join reading_pressure p on p.reading_id = r.id where r.name = 'M1234' order by p.circuit_id",
          )
          .raw()
          .all(),
      ).toEqual([
        [33.8, 64],
        [34.1, 64],
        [34.4, 64],
      ])
      const before = wholeRecord(store)
      expect((await bringWell(store, file(lines))).counts['readings']).toEqual({
        read: 7516,
        added: 0,
        completed: 0,
        same: 7516,
      })
      expect(wholeRecord(store)).toEqual(before)
      const mixed = [...lines.slice(3000, 3600), ...rows(300, 'N'), ...lines.slice(0, 90)]
      expect((await bringWell(store, file(mixed))).counts['readings']).toEqual({
        read: 1606,
        added: 900,
        completed: 0,
        same: 706,
      })
    }))

  it('are refused together when one of them contradicts another far away', () =>
    withStore(async (store) => {
      const lines = rows(2500)
      lines.push(
        (lines[100] ?? '').replace(/,none$/, ',raised'),
        (lines[200] ?? '').replace(/(V-201,tandem,right),[\d.]+/, '$1,199'),
      )
      const { problems } = await bringBadly(store, {
        'readings.csv': `${header}\n${lines.join('\n')}\n`,
        ...Object.fromEntries(Object.entries(smallFleet()).filter(([name]) => !/readings|calibrations/.test(name))),
      })
      expect(problems).toMatchObject([
        {
          file: 'readings.csv',
          line: 7502,
          column: 'lift',
          value: 'raised',
          accepted: 'none, which is said in line 101, or an empty cell',
        },
        { file: 'readings.csv', line: 7503, column: 'psi', value: '199' },
      ])
      expect(wholeRecord(store)['reading']).toEqual([])
    }))

  it('by the hundred thousand leave a file that is whole, with its checks at work again', () =>
    withStore(async (store) => {
      expect((await bringWell(store, file(rows(40_000)))).counts['readings']).toMatchObject({
        read: 120_016,
        added: 120_016,
      })
      expect(store.raw.pragma('integrity_check', { simple: true })).toBe('ok')
      expect(store.raw.pragma('cache_size', { simple: true })).toBe(-65_536)
      expect(store.raw.pragma('foreign_keys', { simple: true })).toBe(1)
      expect(() => store.raw.exec('update reading set temperature_f = 999 where id = 1')).toThrow(
        /CHECK constraint failed/,
      )
      // Refused half-way, the checks must come back too.
      await bringBadly(store, file([...rows(140_000, 'Z'), 'Z,2025-01-01T00:00:00Z,T-101,drive,main,-99,,,,,']))
      expect(() => store.raw.exec('update reading set temperature_f = 999 where id = 1')).toThrow(
        /CHECK constraint failed/,
      )
    }))

  it('of a circuit that is not there are never kept, though each was not looked up by itself', () =>
    withStore((store) => {
      const ledger = openFolderLedger(store, 200_000)
      expect(store.raw.pragma('foreign_keys', { simple: true })).toBe(0)
      ledger.readingBatches.keep({
        readings: ['M1', '2025-08-01T00:00:00.000Z', null, null, null, null, null, null],
        readingLines: [2],
        pressures: [0, 404, 50],
        pressureLines: [2],
      })
      expect(() => ledger.commit()).toThrow(/^1 rows, as of reading_pressure, name no circuit$/)
      ledger.rollback()
      expect(store.raw.pragma('foreign_keys', { simple: true })).toBe(1)
      expect(wholeRecord(store)['reading']).toEqual([])
      const few = openFolderLedger(store, 2)
      expect(store.raw.pragma('foreign_keys', { simple: true })).toBe(1)
      few.rollback()
    }))

  it('find their indexes again, whether the import is kept or not', () =>
    withStore(async ({ raw }) => {
      const indexes = () => raw.prepare("select name, sql from sqlite_schema where type = 'index' order by name").all()
      const before = indexes()
      raw.exec('begin')
      const restore = easeManyRows(raw, 'readings')
      expect(indexes()).toHaveLength(before.length - 3)
      restore()
      raw.exec('commit')
      expect(indexes()).toEqual(before)
      raw.exec('begin')
      easeManyRows(raw, 'readings')
      raw.exec('rollback')
      expect(indexes()).toEqual(before)
      expect(() => easeManyRows(raw, 'readings')).toThrow(RangeError)
    }))
})
