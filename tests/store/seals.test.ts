import Database from 'better-sqlite3'
import { afterEach, describe, expect, it } from 'vitest'
import { checkFile } from '#core/store/check-file.ts'
import { keepCopy } from '#core/store/copies.ts'
import { openStore } from '#core/store/open.ts'
import { readDesk } from '#core/store/file-state.ts'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { english, speakBy } from '#core/words/phrase.ts'
import { mendedOnDesk } from '#core/words/desk.ts'
import { brokenSeals, sealWritten } from '#core/store/seals.ts'
import { smallFleet, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringWell } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { join } from 'node:path'
import { readFileSync, writeFileSync } from 'node:fs'

/** Follow from the record, or hold none of it. */
const unsealedTables = [
  'standing_before',
  'behind_fleet',
  'behind_unit',
  'behind_weighing',
  'roster_line',
  'roster_behind',
  'sensor_words',
  'books',
  'desk',
  'finding',
  'fleet_figures',
  'folded',
  'group_standing',
  'heavy',
  'judged_with',
  'renewed_unit',
  'seal',
  'unsealed',
  'weighed_unit',
]

/** Gives a page of a file other bytes behind SQLite's back: the first place where `is` stands becomes `becomes`. */
function swapBytes(file: string, is: Buffer, becomes: Buffer): void {
  const bytes = readFileSync(file)
  const at = bytes.indexOf(is)
  expect(at).toBeGreaterThan(0)
  becomes.copy(bytes, at)
  writeFileSync(file, bytes)
}

const doubles = (value: number) => {
  const bytes = Buffer.alloc(8)
  bytes.writeDoubleBE(value)
  return bytes
}

async function makeFleet(folder: string, prepare: (raw: Database.Database) => void = () => {}): Promise<string> {
  const file = join(folder, 'fleet.tareline')
  const store = await openStore(file)
  await bringWell(store, smallFleet())
  prepare(store.raw)
  sealWritten(store.raw)
  await store.close()
  return file
}

describe('seals', () => {
  it('are broken by every writer of every table of the record', () =>
    withStore(({ raw }) => {
      const tables = raw
        .prepare(
          "select name from sqlite_schema where type = 'table' and name not like 'kysely_%' and name not like 'sqlite_%' order by name",
        )
        .pluck()
        .all() as string[]
      const events = (table: string) =>
        raw
          .prepare("select count(*) from sqlite_schema where type = 'trigger' and name in (?, ?, ?)")
          .pluck()
          .get(['added', 'changed', 'gone'].map((word) => `unseal_${table}_${word}`))
      expect(tables.filter((table) => events(table) !== 3 && !unsealedTables.includes(table))).toEqual([])
    }))

  it('hold after imports and edits, and mark only what was written', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      expect(sealWritten(store.raw)).toBeGreaterThan(10)
      expect(store.raw.prepare('select table_name from unsealed').pluck().all()).toEqual(['made'])
      expect(brokenSeals(store.raw)).toEqual({ record: [], made: false })
      store.raw.exec("update unit set plate = 'T-1'")
      expect(store.raw.prepare("select * from unsealed where table_name <> 'made'").all()).toEqual([
        { table_name: 'unit', stretch: 0 },
      ])
      expect(brokenSeals(store.raw)).toEqual({ record: [], made: false })
      sealWritten(store.raw)
      expect(brokenSeals(store.raw)).toEqual({ record: [], made: false })
    }))

  it.each([
    ['a figure in its last bit', 1234.5, 1234.5000000000002],
    ['a figure grossly', 1234.5, 1334.5],
  ])('tell %s', (_, is, becomes) =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder, (raw) => raw.prepare('update ticket set gross_lb = ?').run(is))
      swapBytes(file, doubles(is), doubles(becomes))
      const raw = new Database(file, { readonly: true })
      expect(raw.pragma('integrity_check', { simple: true })).toBe('ok')
      raw.close()
      expect(await checkFile(file)).toMatchObject({
        sound: false,
        message: expect.stringContaining('rows of the table ticket are not as they were saved'),
      })
      await expect(openStore(file)).rejects.toMatchObject({ code: 'damaged' })
    }),
  )

  it('tell a text of the log, and a copy of the file is refused as the file’s own damage', () =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder, (raw) =>
        raw.exec(`insert into change_log (changed_at, changed_by, subject, subject_key, action)
          values ('2026-01-05T00:00:00.000Z', 'M. Tarn', 'reading', 'W-1', 'added')`),
      )
      const store = await openStore(file)
      swapBytes(file, Buffer.from('M. Tarn'), Buffer.from('M. Torn'))
      await expect(keepCopy(store.raw, file, 'day')).rejects.toMatchObject({
        code: 'damaged',
        message: expect.stringContaining('change_log'),
      })
      await store.close()
    }))
})

describe('what is wrong with a file', () => {
  afterEach(() => speakBy(() => english))

  it('is said in the language of whoever asks, and to commands in English', () =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder, (raw) => raw.prepare('update ticket set gross_lb = ?').run(1234.5))
      swapBytes(file, doubles(1234.5), doubles(1334.5))
      const told = async () => (await checkFile(file)).message
      expect(await told()).toContain('(rows of the table ticket are not as they were saved)')
      speakBy(() => ({ language: 'es', locale: 'es-US', catalogue: es }))
      expect(await told()).toContain('(hay filas de la tabla ticket que no están como se guardaron)')
      const raw = new Database(file)
      raw.exec('drop trigger unseal_unit_changed')
      raw.close()
      expect(await told()).toContain('(falta el disparador unseal_unit_changed)')
    }))
})

describe('a foreign schema', () => {
  it.each([
    [
      'a trigger that doubles weights',
      'create trigger doubled after insert on ticket_weight begin update ticket_weight set weight_lb = 2 * weight_lb where id = new.id; end',
      'the trigger doubled is not Tareline’s',
    ],
    [
      'a view in place of a table',
      'pragma foreign_keys = off; alter table dismissal rename to kept; create view dismissal as select * from kept',
      'dismissal',
    ],
    [
      'a trigger of ours that is gone',
      'drop trigger unseal_unit_changed',
      'the trigger unseal_unit_changed is missing',
    ],
  ])('is refused and told: %s', (_, sql, words) =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      const raw = new Database(file)
      raw.exec(sql)
      raw.close()
      expect(await checkFile(file)).toMatchObject({ sound: false, message: expect.stringContaining(words) })
      await expect(openStore(file)).rejects.toMatchObject({ code: 'damaged', message: expect.stringContaining(words) })
    }),
  )

  it.each([
    ['missing', 'drop index ticket_by_time'],
    ['of somebody else', 'create index mine on unit (plate)'],
    ['over other columns', 'drop index ticket_by_time; create index ticket_by_time on ticket (number)'],
  ])('with an index %s is mended as it is opened, and said', (_, sql) =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      const raw = new Database(file)
      raw.exec(sql)
      raw.close()
      expect(await checkFile(file)).toMatchObject({ sound: false, message: expect.stringContaining('indexes') })
      const store = await openStore(file)
      expect(await readDesk(store.db, mendedOnDesk)).toContain('were made anew')
      await store.close()
      expect(await checkFile(file)).toMatchObject({ sound: true })
    }),
  )
})

describe('an index that does not fit its rows', () => {
  /** An entry of the index by time is another: the table has it right. */
  const spoil = async (folder: string) => {
    const file = await makeFleet(folder, (raw) => {
      raw.exec("insert into reading (name, taken_at) values ('odd', '2025-03-04T05:06:07.891Z')")
    })
    const bytes = readFileSync(file)
    const time = Buffer.from('2025-03-04T05:06:07.891Z')
    const places: number[] = []
    for (let at = bytes.indexOf(time); at >= 0; at = bytes.indexOf(time, at + 1)) places.push(at)
    const raw = new Database(file, { readonly: true })
    const page = raw
      .prepare("select rootpage from sqlite_schema where name = 'reading_by_time'")
      .pluck()
      .get() as number
    raw.close()
    const at = places.find((place) => Math.floor(place / 4096) + 1 === page)
    Buffer.from('2025-03-04T05:06:07.892Z').copy(bytes, at)
    writeFileSync(file, bytes)
    return file
  }

  it('is made anew as the file is opened, and it is said', () =>
    withFolder(async (folder) => {
      const file = await spoil(folder)
      expect(await checkFile(file)).toMatchObject({
        sound: false,
        message: expect.stringContaining('its rows are whole'),
      })
      const store = await openStore(file)
      expect(await readDesk(store.db, mendedOnDesk)).toContain('were made anew from its rows')
      expect(store.raw.pragma('integrity_check', { simple: true })).toBe('ok')
      await store.close()
    }))

  it('is made anew when a copy finds it, in the copy and in the file', () =>
    withFolder(async (folder) => {
      const file = await spoil(folder)
      const store = await openStore(file, { checked: true })
      const copy = await keepCopy(store.raw, file, 'day')
      expect(await readDesk(store.db, mendedOnDesk)).toContain('made anew')
      expect(await checkFile(copy)).toMatchObject({ sound: true })
      expect(store.raw.pragma('integrity_check', { simple: true })).toBe('ok')
      await store.close()
    }))
})

it('damage of any table or index is told by the look over the file, however far SQLite’s own checks come', () =>
  withFolder(async (folder) => {
    const file = join(folder, 'fleet.tareline')
    const store = await openStore(file)
    await bringWell(store, smallFleet())
    const roots = store.raw
      .prepare("select name, rootpage from sqlite_schema where rootpage > 1 and name not like 'sqlite_stat%'")
      .raw()
      .all() as [string, number][]
    await store.close()
    const bytes = readFileSync(file)
    const silent: string[] = []
    for (const [name, page] of roots) {
      // No page begins so.
      writeFileSync(file, Buffer.from(bytes).fill(0xff, (page - 1) * 4096, (page - 1) * 4096 + 8))
      const { damage } = await checkFile(file).then(
        ({ harm }) => harm,
        () => ({ damage: [] }),
      )
      if (damage.length === 0) silent.push(name)
    }
    expect(roots.length).toBeGreaterThan(80)
    expect(silent).toEqual([])
  }))
