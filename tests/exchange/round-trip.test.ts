import fc from 'fast-check'
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { instant, plainDecimal } from '#core/exchange/column.ts'
import { csvRow } from '#core/exchange/csv-records.ts'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { batteryReasons, eventKinds, liftStates } from '#core/words/vocabulary.ts'
import { smallFleet, withFleetFolder, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { some } from '#tests/some.ts'

const readFolder = (folder: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(folder)
      .sort()
      .map((file) => [file, readFileSync(join(folder, file), 'utf8')]),
  )

/** The files of an import that must have been taken. */
function storedFiles(outcome: ImportOutcome) {
  if (outcome.outcome === 'refused') throw new Error(outcome.problems.map(({ message }) => message).join('\n'))
  return outcome.files
}

/** Brings files in, writes them out, brings that into a new file and writes it out again. */
const roundTrip = (files: Readonly<Record<string, string>>) =>
  withFolder((home) =>
    withStore(async (first) => {
      const { counts } = await bringWell(first, files)
      const written = await exportFolder(first, join(home, 'first'))
      return withStore(async (second) => {
        const inSecond = storedFiles(await importFolder(second, join(home, 'first')))
        await exportFolder(second, join(home, 'second'))
        const again = storedFiles(await importFolder(first, join(home, 'second')))
        return {
          counts,
          written,
          inSecond,
          again,
          texts: [readFolder(join(home, 'first')), readFolder(join(home, 'second'))],
          records: [wholeRecord(first), wholeRecord(second)],
        }
      })
    }),
  )

/** The same fleet with a driver and a loading lane on every ticket and reading. */
const withDrivers = (files: Record<string, string>): Record<string, string> => ({
  ...files,
  ...Object.fromEntries(
    ['tickets.csv', 'readings.csv'].map((file) => [
      file,
      `${(files[file] ?? '')
        .trimEnd()
        .split('\n')
        .map((line, at) => `${line},${at === 0 ? 'driver,lane' : 'R. Stone,Quarry 2'}`)
        .join('\n')}\n`,
    ]),
  ),
})

describe('an export', () => {
  it('holds the rows that were imported, each file in the order of its columns', () =>
    withFolder((home) =>
      withStore(async (store) => {
        await bringWell(store, smallFleet())
        const { files } = await exportFolder(store, join(home, 'out'))
        expect(files.map(({ file, rows }) => [file, rows])).toEqual(
          Object.values(folderFiles).map(({ file }) => [
            file,
            (smallFleet()[file] ?? '').trimEnd().split('\n').length - 1,
          ]),
        )
        const out = readFolder(join(home, 'out'))
        // No driver is named in it, and so none is written.
        for (const { file, columns } of Object.values(folderFiles))
          expect(out[file]?.split('\n')[0]).toBe(
            Object.entries(columns)
              .filter(([, column]) => !('late' in column))
              .map(([name]) => name)
              .join(','),
          )
        expect(out['units.csv']).toBe(smallFleet()['units.csv'])
        expect(out['mounts.csv']?.split('\n')[2]).toBe(
          'PA-01045,V-201,tandem,left,2025-01-08T13:30:00Z,2025-09-01T14:00:00Z',
        )
        expect(out['readings.csv']?.trimEnd().split('\n').at(-1)).toBe(
          'R-6,2025-07-02T09:15:00.250Z,T-101,drive,main,41.7,,,,,',
        )
        expect(out['tickets.csv']).toContain('\nSalt Bend Yard,30500,2025-07-01T12:00:00Z,T-101,,,18740\n')
      }),
    ))

  it('names who drove and where it was loaded where the record does, and brings the names in again', () =>
    withFolder((home) =>
      withStore(async (store) => {
        const drivers = withDrivers(smallFleet())
        await bringWell(store, drivers)
        await exportFolder(store, join(home, 'out'))
        const out = readFolder(join(home, 'out'))
        expect(out['tickets.csv']?.split('\n')[0]).toMatch(/gross_lb,driver,lane$/)
        expect(out['readings.csv']?.split('\n')[0]).toMatch(/lift,driver,lane$/)
        expect(out['tickets.csv']).toContain(',R. Stone,Quarry 2')
        await withStore(async (second) => {
          await bringWell(second, out)
          await exportFolder(second, join(home, 'again'))
          expect(readFolder(join(home, 'again'))).toEqual(out)
        })
        // An old folder says nothing of drivers, and so contradicts none.
        await bringWell(store, smallFleet())
        const other = { ...drivers, 'tickets.csv': (drivers['tickets.csv'] ?? '').replaceAll('R. Stone', 'A. Vale') }
        const refused = await withFleetFolder(other, (folder) => importFolder(store, folder))
        expect(refused).toMatchObject({ outcome: 'refused' })
        expect(JSON.stringify(refused)).toContain('R. Stone')
      }),
    ))

  it('leaves voided calibrations out', () =>
    withFolder((home) =>
      withStore(async (store) => {
        await bringWell(store, smallFleet())
        store.raw.exec(
          "update calibration set voided_at = '2025-10-01T00:00:00.000Z', void_reason = 'wrong ticket' where id = 1",
        )
        expect(
          (await exportFolder(store, join(home, 'out'))).files.find(({ file }) => file === 'calibrations.csv'),
        ).toEqual({ file: 'calibrations.csv', rows: 4 })
      }),
    ))

  it('takes the place of another one, and of nothing else', () =>
    withFolder((home) =>
      withStore(async (store) => {
        await bringWell(store, smallFleet())
        const folder = join(home, 'a', 'b')
        await exportFolder(store, folder)
        writeFileSync(join(folder, 'yards.csv'), 'old')
        await exportFolder(store, folder)
        expect(readFileSync(join(folder, 'yards.csv'), 'utf8')).toContain('Cinder Gap')
        writeFileSync(join(folder, 'diary.txt'), 'mine')
        await expect(exportFolder(store, folder)).rejects.toMatchObject({
          code: 'folder-in-use',
          message: expect.stringContaining('diary.txt'),
        })
        await expect(exportFolder(store, join(folder, 'diary.txt'))).rejects.toMatchObject({ code: 'not-a-folder' })
        await expect(exportFolder(store, join(folder, 'diary.txt', 'x'))).rejects.toMatchObject({
          code: 'cannot-write',
        })
        mkdirSync(join(home, 'empty'))
        await exportFolder(store, join(home, 'empty'))
        expect(readdirSync(home).sort()).toEqual(['a', 'empty'])
        expect(readdirSync(join(home, 'a'))).toEqual(['b'])
        expect(store.raw.inTransaction).toBe(false)
      }),
    ))
})

describe('export and import', () => {
  it('give the same record, table by table', async () => {
    const {
      counts,
      written,
      records: [first, second],
      texts: [one, two],
    } = await roundTrip(smallFleet())
    expect(two).toEqual(one)
    for (const { file, rows } of some(written.files)) expect(rows).toBe(counts[file.replace('.csv', '')]?.read)
    for (const [table, rows] of some(Object.entries(first ?? {})))
      expect(second?.[table], table).toHaveLength(rows.length)

    // The ids follow the order of the rows, and an export's order is its own: from the second time on they are the same
    // too.
    const {
      records: [third, fourth],
    } = await roundTrip(one ?? {})
    expect(third).toEqual({
      ...second,
      change_log: third?.['change_log'],
      kysely_migration: third?.['kysely_migration'],
    })
    expect(fourth).toEqual({
      ...third,
      change_log: fourth?.['change_log'],
      kysely_migration: fourth?.['kysely_migration'],
    })
  })

  it('give the same record for any fleet', async () => {
    const name = fc
      .string({
        unit: fc.constantFrom('a', 'B', '7', '-', ',', '"', "'", ' ', 'é', '車', '='),
        minLength: 1,
        maxLength: 8,
      })
      .map((text) => `n${text.trim()}`)
    const prose = fc
      .string({ unit: fc.constantFrom('a', ',', '"', '\n', '\r', ' ', '😀'), maxLength: 9 })
      .map((text) => text.trim())
    const number = (min: number, max: number) =>
      fc
        .oneof(fc.double({ min, max, noNaN: true }), fc.integer({ min: Math.ceil(min), max: Math.floor(max) }))
        .map((value) => plainDecimal(value + 0))
    const maybe = (text: fc.Arbitrary<string>) =>
      fc.oneof({ weight: 2, arbitrary: text }, { weight: 1, arbitrary: fc.constant('') })
    const time = fc
      .integer({ min: Date.UTC(1990, 0, 1), max: Date.UTC(2030, 0, 1) })
      .map((ms) => new Date(ms).toISOString())
    const fleet = fc.record({
      units: fc.uniqueArray(name, { minLength: 1, maxLength: 3 }),
      days: fc.array(
        fc.tuple(
          maybe(fc.constantFrom('Mon-Fri', 'sat, sun', 'Wed')),
          maybe(fc.constantFrom('12-25', '2026-11-26 12-25')),
          maybe(fc.constantFrom('1', '12')),
        ),
        { minLength: 3, maxLength: 3 },
      ),
      spare: fc.array(fc.tuple(maybe(number(-1500, 20_000)), maybe(number(1, 1_000_000)), maybe(name)), {
        minLength: 3,
        maxLength: 3,
      }),
      tickets: fc.uniqueArray(
        fc.record({ number: name, at: time, gross: maybe(number(0, 1_000_000)), weight: number(0, 400_000) }),
        { selector: ({ number: key }) => key, maxLength: 4 },
      ),
      readings: fc.uniqueArray(
        fc.record({
          reading: name,
          at: time,
          psi: fc.array(number(-15, 2000), { minLength: 3, maxLength: 3 }),
          lift: maybe(fc.constantFrom(...liftStates)),
          temperature: maybe(number(-100, 200)),
        }),
        { selector: ({ reading }) => reading, minLength: 1, maxLength: 5 },
      ),
      events: fc.uniqueArray(fc.tuple(time, fc.constantFrom(...eventKinds), prose), {
        selector: ([at, kind]) => at + kind,
        maxLength: 4,
      }),
      batteries: fc.uniqueArray(fc.tuple(time, maybe(fc.constantFrom(...batteryReasons))), {
        selector: ([at]) => at,
        maxLength: 3,
      }),
    })
    await fc.assert(
      fc.asyncProperty(fleet, async ({ units, days, spare, tickets, readings, events, batteries }) => {
        const [scale = ''] = units
        const table = (header: string, rows: string[][]) => `${header}\n${rows.map(csvRow).join('')}`
        const files = {
          'yards.csv': table(
            'yard,elevation_ft,working_days,holidays,jobs_per_day',
            units.map((unit, index) => [unit, spare[index]?.[0] ?? '', ...(days[index] ?? ['', '', ''])]),
          ),
          'units.csv': table(
            'unit,kind,yard,gross_limit_lb,make',
            units.map((unit, index) => [unit, 'truck', unit, spare[index]?.[1] ?? '', spare[index]?.[2] ?? '']),
          ),
          'axle_groups.csv': table(
            'unit,group,role,axles',
            units.map((unit) => [unit, unit, 'drive', '2']),
          ),
          'circuits.csv': table(
            'unit,group,circuit',
            units.map((unit) => [unit, unit, 'main']),
          ),
          'sensors.csv': table('serial,reference', [[scale, 'gauge']]),
          'battery_changes.csv': table(
            'serial,changed_at,reason',
            batteries.map(([at, reason]) => [scale, at, reason]),
          ),
          'scales.csv': table('scale', [[scale]]),
          'tickets.csv': table(
            'scale,ticket,weighed_at,unit,group,weight_lb,gross_lb',
            tickets.flatMap(({ number: key, at, gross, weight }) =>
              units.map((unit) => [scale, key, at, unit, unit, weight, gross]),
            ),
          ),
          'readings.csv': table(
            'reading,taken_at,unit,group,circuit,psi,scale,ticket,temperature_f,lift',
            readings.flatMap(({ reading, at, psi, lift, temperature }, index) =>
              units.map((unit, place) => [
                reading,
                at,
                unit,
                unit,
                'main',
                psi[place] ?? '0',
                ...(tickets[index] ? [scale, tickets[index].number] : ['', '']),
                temperature,
                lift,
              ]),
            ),
          ),
          'calibrations.csv': table(
            'unit,group,calibrated_at,scale,ticket,reading',
            tickets.flatMap(({ number: key }, index) =>
              readings[index] ? [[scale, scale, '2026-01-01T00:00:00Z', scale, key, readings[index].reading]] : [],
            ),
          ),
          'events.csv': table(
            'unit,happened_at,event,note',
            events.map(([at, kind, note]) => [scale, at, kind, note]),
          ),
        }
        const {
          texts: [one, two],
          again,
          inSecond,
          counts,
          written,
        } = await roundTrip(files)
        expect(two).toEqual(one)
        for (const { read, same } of some(again)) expect(same).toBe(read)
        for (const { read, added } of some(inSecond)) expect(added).toBe(read)
        for (const { file, rows } of some(written.files)) expect(rows).toBe(counts[file.replace('.csv', '')]?.read ?? 0)
      }),
      { numRuns: 15 },
    )
  })

  it('write a number in the shortest way that reads back as the same one, without an exponent', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        const text = plainDecimal(value)
        expect(text).toMatch(/^-?\d+(\.\d+)?$/)
        expect(Number(text) === value).toBe(true)
      }),
    )
    expect([1e-7, -1.5e-9, 1e21, 1.25e22, 0.1, 34_000].map(plainDecimal)).toEqual([
      '0.0000001',
      '-0.0000000015',
      '1000000000000000000000',
      '12500000000000000000000',
      '0.1',
      '34000',
    ])
  })

  it('write a time in UTC, with milliseconds only where there are some', () => {
    const there = (text: string) => {
      const stored = instant.parse(text)
      return stored === undefined ? undefined : [stored, instant.write(stored)]
    }
    expect(there('2026-03-01T14:30:00-06:00')).toEqual(['2026-03-01T20:30:00.000Z', '2026-03-01T20:30:00Z'])
    expect(there('2026-03-01T14:30:00Z')).toEqual(['2026-03-01T14:30:00.000Z', '2026-03-01T14:30:00Z'])
    expect(there('2026-03-01T14:30:00.5Z')).toEqual(['2026-03-01T14:30:00.500Z', '2026-03-01T14:30:00.500Z'])
    expect(there('2024-02-29T00:00:00Z')?.[1]).toBe('2024-02-29T00:00:00Z')
    expect([there('2026-02-30T00:00:00Z'), there('2026-04-31T00:00:00Z'), there('2026-01-01T24:00:00Z')]).toEqual([
      undefined,
      undefined,
      undefined,
    ])
  })
})

describe('a folder worked on in a thread', () => {
  it('comes in and goes out beside the open file, and a cancelled or refused import makes no file', async () => {
    const { bringInFolder, writeOutFolder } = await import('#core/jobs/in-thread.ts')
    await withFleetFolder(smallFleet(), (folder) =>
      withFolder(async (home) => {
        const db = join(home, 'fleet.tareline')
        const stages = new Set<string>()
        expect(await bringInFolder(db, folder, { onProgress: ({ stage }) => stages.add(stage) })).toMatchObject({
          outcome: 'stored',
        })
        expect([...stages]).toEqual(expect.arrayContaining(['Reading readings.csv', 'Storing', 'Assessing the fleet']))
        expect(await writeOutFolder(db, join(home, 'out'))).toMatchObject({
          files: expect.arrayContaining([{ file: 'tickets.csv', rows: 16 }]),
        })

        const other = join(home, 'other.tareline')
        const stop = new AbortController()
        const cancelled = bringInFolder(other, folder, { signal: stop.signal })
        // While the thread still makes the file: a folder as small as this is in it a moment after its first progress.
        setImmediate(() => stop.abort())
        await expect(cancelled).rejects.toMatchObject({ name: 'AbortError' })
        await expect(bringInFolder(other, join(home, 'none'))).rejects.toMatchObject({
          name: 'TarelineError',
          code: 'no-folder',
        })
        writeFileSync(join(folder, 'yards.csv'), 'yard\n')
        expect(await bringInFolder(other, folder)).toMatchObject({ outcome: 'refused' })
        expect(existsSync(other)).toBe(false)
        await expect(writeOutFolder(other, join(home, 'out'))).rejects.toMatchObject({ code: 'missing' })
      }),
    )
  })
})
