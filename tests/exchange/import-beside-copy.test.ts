import Database from 'better-sqlite3'
import { copyFileSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import type { ImportProgress } from '#core/contracts/import.ts'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { checkFile } from '#core/store/check-file.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { withLook } from '#core/store/look.ts'
import { openStore, smallBytes } from '#core/store/open.ts'
import { numberOf } from '#core/store/rows.ts'
import { brokenSeals, recordDigest, sealWritten } from '#core/store/seals.ts'
import { smallFleet, withFleetFolder } from '#tests/exchange/small-fleet.ts'

const header = 'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift'
const manyReadings = 36_000

/** More rows than an import takes one by one, of a fleet larger than what is copied on the way. */
function manyRows(time = 'morning'): string {
  const lines = [header]
  for (let each = 0; each < manyReadings; each += 1) {
    const at = new Date(Date.UTC(2025, 7, 1) + each * 60_000).toISOString().replace('.000', '')
    for (const place of ['T-101,drive,main', 'V-201,tandem,left', 'V-201,tandem,right'])
      lines.push(`a reading of the ${time} ${each},${at},${place},${20 + (each % 500) / 10},,,,${each % 90},none`)
  }
  return `${lines.join('\n')}\n`
}

let home: string
let large: string
const fleetOfMany = () => ({
  ...smallFleet(),
  'readings.csv': `${smallFleet()['readings.csv']}${manyRows().slice(header.length + 1)}`,
})

/** What the file holds: its record in one digest, and its seals against its rows. */
const stateOf = (file: string) => withLook(file, (raw) => ({ digest: recordDigest(raw), seals: brokenSeals(raw) }))

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-'))
  large = join(home, 'large.tareline')
  await withFleetFolder(fleetOfMany(), (folder) => importIntoFile(large, folder))
  expect(statSync(large).size).toBeGreaterThan(smallBytes)
}, 120_000)

afterAll(() => rmSync(home, { recursive: true }))

/** A copy of the large file under a name of its own. */
function another(name: string): string {
  const file = join(home, `${name}.tareline`)
  rmSync(copiesFolder(file), { recursive: true, force: true })
  copyFileSync(large, file)
  return file
}

const oneMore = { 'readings.csv': `${header}\nR-NEW,2025-09-30T07:00:00Z,T-101,drive,main,44,,,,61,none\n` }
const brings = {
  'one row, which waits for the copy': () => ({ files: oneMore, rows: 1 }),
  'many rows, beside which the copy is made': () => ({
    files: { 'readings.csv': manyRows('evening') },
    rows: 3 * manyReadings,
  }),
}
type Bring = keyof typeof brings
const each = Object.keys(brings) as Bring[]
const bringMore = (file: string, bring: Bring, onProgress?: (progress: ImportProgress) => void) =>
  withFleetFolder(brings[bring]().files, (folder) => importIntoFile(file, folder, { onProgress }))

it('marks every stretch of the rows that came in at once, and no other', async () => {
  const file = another('sealed')
  const store = await openStore(file)
  const held = store.raw
    .prepare(
      `select 'reading', id >> 9 from reading union select 'reading_pressure', reading_id >> 9 from reading_pressure
        order by 1, 2`,
    )
    .raw()
  const listed = (table: string) =>
    store.raw
      .prepare(`select table_name, stretch from ${table} where table_name like 'reading%' order by 1, 2`)
      .raw()
      .all()
  expect(listed('unsealed')).toEqual(held.all())
  sealWritten(store.raw)
  expect(listed('unsealed')).toEqual([])
  expect(listed('seal')).toEqual(held.all())
  // The triggers that mark single rows are back.
  store.raw.exec("insert into reading (name, taken_at) values ('later', '2025-09-30T07:00:00.000Z')")
  expect(listed('unsealed')).toEqual([['reading', (manyReadings + 7) >> 9]])
  await store.close()
  expect(await checkFile(file)).toMatchObject({ sound: true })
}, 120_000)

it.each(each)(
  'keeps a copy of what was there: %s',
  async (bring) => {
    const file = another('kept')
    const before = stateOf(file)
    const { rows } = brings[bring]()
    expect(await bringMore(file, bring)).toMatchObject({ outcome: 'stored', files: [{ read: rows, added: rows }] })
    const [copy, ...more] = listCopyNames(file)
    expect([copy?.reason, more]).toEqual(['before-import', []])
    expect(stateOf(join(copiesFolder(file), copy?.name ?? ''))).toEqual(before)
    expect(stateOf(file).digest).not.toBe(before.digest)
    expect(await checkFile(file)).toMatchObject({ sound: true })
  },
  120_000,
)

it('lets others save while a large file is copied for a few rows', async () => {
  const file = another('shared')
  const other = new Database(file, { timeout: 0 })
  const saved: string[] = []
  await bringMore(file, 'one row, which waits for the copy', ({ stage }) => {
    if (!stage.startsWith('Keeping') || saved.length > 0) return
    other.exec("update yard set elevation_ft = 6211 where name = 'Cinder Gap'")
    saved.push(stage)
  })
  other.close()
  expect(saved).toHaveLength(1)
}, 120_000)

it('keeps none and writes nothing where nothing is new', async () => {
  const file = another('same')
  await withFleetFolder({ 'readings.csv': manyRows() }, async (folder) =>
    expect(await importIntoFile(file, folder)).toMatchObject({ files: [{ added: 0, same: 3 * manyReadings }] }),
  )
  expect(listCopyNames(file)).toEqual([])
  expect(stateOf(file)).toEqual(stateOf(large))
}, 120_000)

it.each(each)(
  'stores nothing where the copy shows that rows changed by themselves: %s',
  async (bring) => {
    const file = another('harmed')
    const store = await openStore(file)
    sealWritten(store.raw)
    await store.close()
    const bytes = readFileSync(file)
    const at = bytes.indexOf('a reading of the morning 312025-08-01T00:31:00.000Z')
    expect(at).toBeGreaterThan(0)
    bytes.write('A', at)
    writeFileSync(file, bytes)
    const before = withLook(file, recordDigest)
    await expect(bringMore(file, bring)).rejects.toMatchObject({ code: 'damaged' })
    expect(withLook(file, recordDigest)).toBe(before)
    expect(listCopyNames(file)).toEqual([])
  },
  120_000,
)

it.each(each)(
  'mends the index that the copy shows to be damaged, then stores what is new: %s',
  async (bring) => {
    const file = another('mended')
    const bytes = readFileSync(file)
    // The index was made after the rows: of the two places of this time its own is the later.
    const at = bytes.lastIndexOf('2025-08-01T00:10:00.000Z')
    bytes.write('2025-08-01T00:10:00.001Z', at)
    writeFileSync(file, bytes)
    expect(await checkFile(file)).toMatchObject({
      sound: false,
      message: expect.stringContaining('its rows are whole'),
    })
    const { rows } = brings[bring]()
    expect(await bringMore(file, bring)).toMatchObject({ outcome: 'stored', files: [{ read: rows, added: rows }] })
    expect(await checkFile(file)).toMatchObject({ sound: true })
    expect(listCopyNames(file)).toHaveLength(1)
  },
  120_000,
)

it('mends the index that the import came upon before the copy was looked over, then stores what is new', async () => {
  const file = another('come-upon')
  const store = await openStore(file)
  store.raw.exec("update unit set yard_id = null where number = 'T-101'; update ledger set revision = revision + 1")
  const pageSize = Number(store.raw.pragma('page_size', { simple: true }))
  const page = numberOf(store.raw, "select rootpage from sqlite_schema where name = 'unit_by_yard'")
  await store.close()
  const bytes = readFileSync(file)
  // The entry of the first unit, which has no yard, names another row: found out once it is to be taken out.
  const entry = bytes.indexOf(Buffer.from([3, 3, 0, 9]), (page - 1) * pageSize)
  expect(entry).toBeLessThan(page * pageSize)
  bytes.writeUInt8(8, entry + 3)
  writeFileSync(file, bytes)
  const { 'units.csv': units = '' } = smallFleet()
  const files = { 'units.csv': units, 'readings.csv': manyRows('evening') }
  expect(await withFleetFolder(files, (folder) => importIntoFile(file, folder))).toMatchObject({
    outcome: 'stored',
    files: [{ completed: 1 }, { added: 3 * manyReadings }],
  })
  expect(await checkFile(file)).toMatchObject({ sound: true })
  expect(listCopyNames(file)).toHaveLength(1)
}, 120_000)
