import { describe, expect, it } from 'vitest'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { timeNow } from '#core/store/clock.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { smallFleet, withCell, withFolder, withRows } from '#tests/exchange/small-fleet.ts'
import { bring, bringBadly, bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { readZone } from '#core/store/zone.ts'
import { dayOf } from '#core/words/day.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const rows = (read: number) => ({ read, added: read, completed: 0, same: 0 })

describe('a fleet folder', () => {
  it('comes in whole, with its counts, one change and one line in the log', () =>
    withStore(async (store) => {
      const { counts, notes } = await bringWell(store, smallFleet())
      expect(notes).toEqual([])
      expect(counts).toEqual({
        yards: rows(2),
        units: rows(2),
        axle_groups: rows(3),
        circuits: rows(3),
        sensors: rows(3),
        mounts: rows(3),
        battery_changes: rows(2),
        scales: rows(1),
        tickets: rows(16),
        readings: rows(16),
        calibrations: rows(8),
        events: rows(2),
      })
      const record = wholeRecord(store)
      expect(record['unit']).toMatchObject([
        {
          number: 'T-101',
          kind: 'tractor',
          model_year: 2022,
          gross_limit_lb: 80_000,
          fifth_wheel_ft: 17.4,
          yard_id: 1,
          service_state: 'in service',
        },
        { number: 'V-201', kind: 'trailer', vin: null, gross_limit_lb: null, yard_id: 2 },
      ])
      expect(record['mount']?.[0]).toMatchObject({ mounted_at: '2025-01-08T13:00:00.000Z', removed_at: null })
      expect(record['ticket']).toHaveLength(6)
      expect(record['ticket_weight']?.at(-1)).toMatchObject({
        ticket_id: 6,
        unit_id: 1,
        group_id: null,
        weight_lb: null,
      })
      expect(record['reading']?.at(-1)).toMatchObject({
        name: 'R-6',
        taken_at: '2025-07-02T09:15:00.250Z',
        ticket_id: null,
        lift: null,
      })
      expect(record['reading_pressure']).toHaveLength(16)
      expect(record['calibration_point']).toHaveLength(8)
      expect(record['ledger']).toMatchObject([{ id: 1, revision: 1 }])
      expect(record['change_log']).toMatchObject([
        { changed_by: 'import', subject: 'fleet folder', action: 'imported' },
      ])
    }))

  it('changes nothing when it comes a second time, not even the log', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      const before = wholeRecord(store)
      const { counts } = await bringWell(store, smallFleet())
      expect(Object.values(counts).every(({ read, same }) => read === same)).toBe(true)
      expect(wholeRecord(store)).toEqual(before)
    }))

  it('may come in parts, and may leave files out', () =>
    withStore(async (store) => {
      const { 'calibrations.csv': calibrations, 'events.csv': events, ...rest } = smallFleet()
      await bringWell(store, rest)
      expect((await bringWell(store, { 'calibrations.csv': calibrations ?? '' })).counts['calibrations']).toEqual(
        rows(8),
      )
      expect((await bringWell(store, { 'events.csv': events ?? '' })).counts['events']).toEqual(rows(2))
    }))

  it('fills in what is stored as unknown, and an empty cell takes nothing away', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      const fuller = withCell(
        withCell(smallFleet(), 'units.csv', 3, 'vin', '1ZZTAREB7JT000002'),
        'units.csv',
        2,
        'gross_limit_lb',
        '',
      )
      const more = withCell(
        withCell(fuller, 'readings.csv', 17, 'lift', 'raised'),
        'yards.csv',
        3,
        'elevation_ft',
        '4180',
      )
      const { counts } = await bringWell(store, more)
      expect(counts['units']).toEqual({ read: 2, added: 0, completed: 1, same: 1 })
      expect(counts['yards']).toEqual({ read: 2, added: 0, completed: 1, same: 1 })
      expect(counts['readings']).toEqual({ read: 16, added: 0, completed: 1, same: 15 })
      expect(wholeRecord(store)['unit']).toMatchObject([{ gross_limit_lb: 80_000 }, { vin: '1ZZTAREB7JT000002' }])
      expect(wholeRecord(store)['reading']?.at(-1)).toMatchObject({ lift: 'raised' })
    }))

  it('holds a row against what an earlier row filled in, in whichever order the records were stored', () =>
    withStore(async (store) => {
      const units = (...lines: string[]) => ({ 'units.csv': ['unit,kind,plate', ...lines, ''].join('\n') })
      await bringWell(store, units('A-1,tractor,', 'A-2,tractor,', 'A-3,tractor,', 'A-4,tractor,', 'A-5,tractor,'))
      const { problems } = await bringBadly(
        store,
        units('A-1,,', 'A-2,,', 'A-4,,ZT-40007', 'A-3,,', 'A-4,,ZT-40008', 'A-5,trailer,'),
      )
      expect(problems.map(({ message }) => message)).toEqual([
        'units.csv line 6, plate: "ZT-40008" contradicts "ZT-40007", which is recorded already.',
        'units.csv line 7, kind: "trailer" contradicts "tractor", which is recorded already.',
      ])
    }))

  it('takes rows of one record apart from each other, the shared values in any of them', () =>
    withStore(async (store) => {
      const { 'readings.csv': readings = '', 'tickets.csv': tickets = '', ...rest } = smallFleet()
      const [header = '', ...lines] = readings.trimEnd().split('\n')
      // The order of a deck dealt out: no two rows of a reading are neighbours.
      const dealt = [0, 1, 2].flatMap((offset) => lines.filter((_, index) => index % 3 === offset))
      const blank = dealt.map((line) =>
        line.includes('V-201,tandem')
          ? line.replace(/,2025[^,]*,V/, ',,V').replace(/Salt Bend Yard,\d+,2640,46,none/, ',,,,')
          : line,
      )
      const [ticketHeader = '', ...ticketLines] = tickets.trimEnd().split('\n')
      const { counts } = await bringWell(store, {
        ...rest,
        'readings.csv': [header, ...blank.reverse()].join('\n'),
        'tickets.csv': [ticketHeader, ...ticketLines.reverse()].join('\n'),
      })
      expect(counts['readings']).toMatchObject({ read: 16, added: 16 })
      expect(wholeRecord(store)['reading']).toHaveLength(6)
      await bringWell(store, smallFleet())
      expect(wholeRecord(store)['ledger']).toMatchObject([{ id: 1, revision: 1 }])
    }))

  it('counts a row that stands there twice as the same', () =>
    withStore(async (store) => {
      const twice = withRows(smallFleet(), 'tickets.csv', 'Salt Bend Yard,30500,2025-07-01T12:00:00Z,T-101,,,18740')
      expect((await bringWell(store, twice)).counts['tickets']).toEqual({ read: 17, added: 16, completed: 0, same: 1 })
    }))

  it('reads columns in any order, a byte order mark, CR LF, quotes, line breaks in cells and blank lines', () =>
    withStore(async (store) => {
      const { 'events.csv': _, 'units.csv': units = '', ...rest } = smallFleet()
      const { counts, notes } = await bringWell(store, {
        ...rest,
        'units.csv': `\ufeff${units.replaceAll('\n', '\r\n')}`,
        'events.csv':
          '"note",Event,colour,unit,happened_at\r\n"He said ""no"",\r\nthen left",Valve_Replaced,red,T-101,2025-08-02T10:00:00Z\r\n\r\n , ,,,\r\n,height-set,,V-201,2025-08-02T10:00:00Z\r\n',
      })
      expect(counts['events']).toEqual(rows(2))
      expect(notes).toEqual(['events.csv: the column "colour" is not known and was passed over.'])
      expect(wholeRecord(store)['event']).toMatchObject([
        { kind: 'valve replaced', note: 'He said "no",\r\nthen left' },
        { kind: 'height set', note: null },
      ])
    }))

  it('keeps what is dated ahead and tells of it, by file, whenever it is imported', () =>
    withStore(async (store) => {
      const ahead = new Date(timeNow() + 40 * 86_400_000).toISOString()
      const zone = await readZone(store.db)
      const laterToday = new Date(judgedAt(timeNow(), zone)).toISOString()
      const files = withRows(
        withRows(
          withRows(
            smallFleet(),
            'readings.csv',
            `R-90,${ahead},T-101,drive,main,41.7,,,,,`,
            `R-91,${laterToday},T-101,drive,main,41.7,,,,,`,
          ),
          'battery_changes.csv',
          `PA-01044,${ahead},dead,`,
        ),
        'tickets.csv',
        `Salt Bend Yard,30900,${ahead},T-101,,,18740`,
      )
      for (const _ of ['first', 'again']) {
        const { notes } = await bringWell(store, files)
        expect(notes).toEqual(
          ['battery_changes.csv', 'tickets.csv', 'readings.csv'].map(
            (file) =>
              `${file}: 1 record on file is dated after today, on ${dayOf(timeNow() + 40 * 86_400_000, zone)}. Nothing was left out; lines ` +
              'are judged and loads weighed without it until that day comes. Look whether a date was mistyped.',
          ),
        )
      }
      expect(wholeRecord(store)['reading']).toHaveLength(8)
    }))

  it('notes a CSV file that is none of the twelve', () =>
    withStore(async (store) => {
      const { notes } = await bringWell(store, { ...smallFleet(), 'reading.csv': 'reading\n', 'readme.txt': '' })
      expect(notes).toEqual(['reading.csv is not a file of a fleet folder and was passed over.'])
    }))

  it('has to be one', () =>
    withStore((store) =>
      withFolder(async (folder) => {
        await expect(importFolder(store, folder)).rejects.toMatchObject({ code: 'no-folder' })
        await expect(importFolder(store, `${folder}/none`)).rejects.toMatchObject({ code: 'no-folder' })
        expect(store.raw.inTransaction).toBe(false)
      }),
    ))

  it('tells its progress and leaves nothing behind when it is cancelled', () =>
    withStore(async (store) => {
      const before = wholeRecord(store)
      const stages: string[] = []
      const stop = new AbortController()
      const cancelled = bring(store, smallFleet(), {
        signal: stop.signal,
        onProgress: ({ stage, share }) => {
          stages.push(stage)
          expect(share === null || (share >= 0 && share <= 1)).toBe(true)
          if (stage === 'Reading readings.csv') stop.abort()
        },
      })
      await expect(cancelled).rejects.toMatchObject({ name: 'AbortError' })
      expect(stages).toContain('Reading tickets.csv')
      expect(wholeRecord(store)).toEqual(before)
      expect(store.raw.inTransaction).toBe(false)
    }))
})

describe('a calibration that is stored', () => {
  it('keeps its points: one more or one fewer is refused', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      const before = wholeRecord(store)
      const more = withRows(
        smallFleet(),
        'calibrations.csv',
        'T-101,drive,2025-03-04T12:00:00-07:00,J. Winterbourn,Salt Bend Yard,30446,R-5',
      )
      expect((await bringBadly(store, more)).problems).toMatchObject([
        { file: 'calibrations.csv', line: 10, column: 'ticket', value: '30446' },
      ])
      const { 'calibrations.csv': text = '' } = smallFleet()
      const fewer = {
        'calibrations.csv': text
          .split('\n')
          .filter((_, index) => index !== 2)
          .join('\n'),
      }
      expect((await bringBadly(store, fewer)).problems).toMatchObject([
        { file: 'calibrations.csv', line: 2, column: 'calibrated_at' },
      ])
      expect(wholeRecord(store)).toEqual(before)
    }))

  it('keeps its name', () =>
    withStore(async (store) => {
      await bringWell(store, withCell(smallFleet(), 'calibrations.csv', 2, 'by', ''))
      expect(wholeRecord(store)['calibration']).toMatchObject([
        { calibrated_by: 'J. Winterbourn' },
        { calibrated_by: 'J. Winterbourn' },
      ])
      expect(
        (await bringBadly(store, withCell(smallFleet(), 'calibrations.csv', 6, 'by', 'P. Alder'))).problems,
      ).toMatchObject([
        { line: 7, column: 'by', value: 'J. Winterbourn', accepted: 'P. Alder' },
        { line: 8, column: 'by' },
        { line: 9, column: 'by' },
        { line: 6, column: 'by', value: 'P. Alder', accepted: 'J. Winterbourn' },
      ])
    }))

  it('that names nobody is not completed either', () =>
    withStore(async (store) => {
      const { 'calibrations.csv': text = '' } = smallFleet()
      await bringWell(store, { ...smallFleet(), 'calibrations.csv': text.replaceAll('J. Winterbourn', '') })
      expect((await bringBadly(store, smallFleet())).problems).toMatchObject([
        { line: 2, column: 'by', accepted: 'an empty cell' },
        { line: 6, column: 'by' },
      ])
    }))

  it('stays voided when the same folder comes again, and may be entered anew with other points', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      store.raw.exec(
        "update calibration set voided_at = '2025-10-01T00:00:00.000Z', void_reason = 'valve replaced that morning' where id = 1",
      )
      const { notes } = await bringWell(store, smallFleet())
      expect(notes).toEqual(['calibrations.csv line 2: this calibration was voided here and stays so.'])
      expect(wholeRecord(store)['calibration']).toHaveLength(2)
      const { 'calibrations.csv': text = '' } = smallFleet()
      await bringWell(store, {
        'calibrations.csv': text
          .split('\n')
          .filter((_, index) => index !== 2)
          .join('\n'),
      })
      expect(wholeRecord(store)['calibration']).toMatchObject([
        { id: 1, void_reason: 'valve replaced that morning' },
        { id: 2 },
        { id: 3, voided_at: null },
      ])
      expect(wholeRecord(store)['calibration_point']).toHaveLength(11)
    }))
})
