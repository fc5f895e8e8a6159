import Database from 'better-sqlite3'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { keepCopy, listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { type Store, openStore, smallBytes } from '#core/store/open.ts'
import { sealWritten } from '#core/store/seals.ts'
import { foldLog } from '#core/store/whole-copy.ts'
import { TarelineError } from '#core/words/problem.ts'
import { Random } from '#demo/simulation/random.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { isSentence } from '#tests/siege/sentence.ts'

/**
 * A fleet file changes on its disk while nobody has it open: bits, bytes and sectors, pages that land in the place of
 * others, pages of an earlier day. Every file whose answers differ from what was saved is found out as it is opened or,
 * where it is large, by the day's copy. What is opened all the same answers as before.
 */
const pageBytes = 4096
const random = new Random(`damaged files ${process.env['TARELINE_SEED'] ?? ''}`)
const whole = (below: number) => Math.floor(random.next() * below)

interface Sample {
  readonly name: string
  /** The file at rest, sealed. */
  readonly now: Buffer
  /** The same a day before. */
  readonly before: Buffer
  readonly answers: Answers
}

const damages: Readonly<Record<string, (bytes: Buffer, before: Buffer) => void>> = {
  'a flipped bit': (bytes) => {
    const at = whole(bytes.length)
    bytes[at] = (bytes[at] as number) ^ (1 << whole(8))
  },
  'some bytes': (bytes) => {
    const at = whole(bytes.length - 16)
    for (let i = 0; i < 1 + whole(16); i += 1) bytes[at + i] = whole(256)
  },
  'a zeroed sector': (bytes) => {
    const at = 512 * whole(bytes.length / 512)
    bytes.fill(0, at, at + 512)
  },
  'a misplaced page': (bytes) => {
    const [from, to] = [whole(bytes.length / pageBytes), whole(bytes.length / pageBytes)]
    bytes.copyWithin(to * pageBytes, from * pageBytes, (from + 1) * pageBytes)
  },
  'a page of the day before': (bytes, before) => {
    const page = whole(Math.min(bytes.length, before.length) / pageBytes)
    before.copy(bytes, page * pageBytes, page * pageBytes, (page + 1) * pageBytes)
  },
  'two pages swapped': (bytes) => {
    const [one, other] = [whole(bytes.length / pageBytes) * pageBytes, whole(bytes.length / pageBytes) * pageBytes]
    const kept = Buffer.from(bytes.subarray(one, one + pageBytes))
    bytes.copyWithin(one, other, other + pageBytes)
    kept.copy(bytes, other)
  },
}

type Answers = Readonly<Record<'record' | 'made', string>>

const madeTables = new Set([
  'finding',
  'group_standing',
  'heavy',
  'weighed_unit',
  'judged_with',
  'fleet_figures',
  'roster_line',
  'roster_behind',
  'sensor_words',
])
/** What the program keeps for itself, none of which anybody is told. */
const ownTables = new Set([
  'seal',
  'unsealed',
  'folded',
  'desk',
  'books',
  'behind_fleet',
  'behind_unit',
  'behind_weighing',
])

/** Every row that an answer can come from, read by way of its table and counted by way of each index. */
function answersOf({ raw }: Pick<Store, 'raw'>): Answers {
  const tables = raw
    .prepare("select name from sqlite_schema where type = 'table' and name not like 'sqlite_%' order by name")
    .pluck()
    .all() as string[]
  const indexes = raw
    .prepare("select name, tbl_name from sqlite_schema where type = 'index' order by name")
    .raw()
    .all() as string[][]
  const told = { record: '', made: '' }
  for (const table of tables.filter((name) => !ownTables.has(name) && !name.startsWith('kysely'))) {
    const rows = raw.prepare(`select * from "${table}" not indexed`).raw().all().map(String).sort()
    const columnsOf = (index: string) =>
      (raw.prepare('select name from pragma_index_info(?)').pluck().all(index) as (string | null)[]).flatMap(
        (name) => name ?? [],
      )
    const byIndex = indexes
      .filter(([name, of]) => of === table && !name?.startsWith('sqlite_'))
      .map(([name = '']) => {
        const columns = columnsOf(name).map((column) => `"${column}"`)
        const isPartial = / where /i.test(
          String(raw.prepare('select sql from sqlite_schema where name = ?').pluck().get(name)),
        )
        if (columns.length === 0 || isPartial) return ''
        return raw
          .prepare(`select ${columns.join(', ')} from "${table}" indexed by "${name}" order by 1`)
          .raw()
          .all()
          .map(String)
          .sort()
          .join('\n')
      })
    told[madeTables.has(table) ? 'made' : 'record'] += JSON.stringify([table, rows, byIndex])
  }
  return told
}

let home: string
let small: Sample
let large: Sample
const counts: Record<string, number> = {}
let failed = 0
let misleading = 0
const count = (what: string) => {
  counts[what] = (counts[what] ?? 0) + 1
}

async function makeSample(name: string, units: number): Promise<Sample> {
  const file = await makeFleetFile(home, { name: `${name}.tareline`, units })
  const settle = async (work: (store: Store) => void) => {
    const store = await openStore(file)
    store.raw.pragma('synchronous = OFF')
    work(store)
    // Judging thousands of units is not what this is about.
    if (name === 'small') await catchUp(store, timeNow())
    sealWritten(store.raw)
    foldLog(store.raw)
    const answers = answersOf(store)
    await store.close()
    return { answers, bytes: readFileSync(file) }
  }
  const before = await settle(() => undefined)
  const now = await settle(({ raw }) =>
    raw.exec(`update unit set plate = 'R-' || id; update ticket set note = 'weighed again' where id % 3 = 0;
      update ledger set revision = revision + 1`),
  )
  return { name, before: before.bytes, now: now.bytes, answers: now.answers }
}

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-siege-'))
  small = await makeSample('small', isNightly ? 1200 : 0)
  large = await makeSample('large', isNightly ? 6000 : 4200)
  expect(small.now.length).toBeLessThan(smallBytes)
  expect(large.now.length).toBeGreaterThan(smallBytes)
}, 300_000)
afterAll(() => {
  keepTally('siege-damaged', { title: 'Fleet files damaged at rest, and foreign schemas', counts, failed, misleading })
  rmSync(home, { recursive: true, force: true })
})

/** The answers of a file, or why it gives none though it was opened. */
function tryAnswers(store: Store): Answers {
  try {
    return answersOf(store)
  } catch (error) {
    return { record: String(error), made: String(error) }
  }
}

/** What became of a damaged file: in words for the count. */
async function fate({ name, answers }: Sample, file: string): Promise<string> {
  let store: Store | undefined
  try {
    store = await openStore(file)
    if (name === 'large') await keepCopy(store.raw, file, 'day')
    const found = tryAnswers(store)
    const isMended = store.raw.prepare("select 1 from desk where name = 'mended'").get() !== undefined
    if (found.record !== answers.record) return 'OTHER ANSWERS'
    if (isMended) return 'rebuilt what could be'
    return found.made === answers.made ? 'nothing that is read was hit' : 'OTHER ANSWERS'
  } catch (error) {
    if (!(error instanceof TarelineError)) throw error
    if (!isSentence(error.message)) misleading += 1
    return store === undefined ? 'refused as it was opened' : 'found by the day’s copy'
  } finally {
    await store?.close()
    for (const copy of listCopyNames(file)) rmSync(join(copiesFolder(file), copy.name))
  }
}

it.each([
  ['small', isNightly ? 500 : 48],
  ['large', isNightly ? 100 : 6],
] as const)(
  '%s files: every one whose answers differ is found out',
  async (which, files) => {
    const sample = which === 'small' ? small : large
    const file = join(home, 'damaged.tareline')
    const missed: string[] = []
    for (let each = 0; each < files; each += 1) {
      const [kind, damage] = Object.entries(damages)[each % Object.keys(damages).length] as [
        string,
        (typeof damages)[string],
      ]
      const bytes = Buffer.from(sample.now)
      damage(bytes, sample.before)
      for (const end of ['-wal', '-shm']) rmSync(file + end, { force: true })
      writeFileSync(file, bytes)
      const became = bytes.equals(sample.now) ? 'not changed after all' : await fate(sample, file)
      count(`${sample.name}, ${kind}: ${became}`)
      if (became !== 'OTHER ANSWERS') continue
      failed += 1
      missed.push(`file ${each}, ${kind}`)
    }
    expect({ missed, misleading }).toEqual({ missed: [], misleading: 0 })
  },
  3_600_000,
)

it('files of a foreign schema are refused, or mended where only an index is foreign', async () => {
  const file = join(home, 'foreign.tareline')
  const schemas: readonly (readonly [sql: string, isMended: boolean])[] = [
    [
      'create trigger t after insert on ticket_weight begin update ticket_weight set weight_lb = 2 * weight_lb; end',
      false,
    ],
    ['create trigger t instead of insert on v begin select 1; end', false],
    ['create view v as select * from ticket', false],
    ['create table note (text)', false],
    ['alter table reading add column hidden text', false],
    ['drop trigger calibration_is_kept', false],
    ['drop trigger unseal_reading_changed', false],
    ['drop table desk', false],
    ['drop index reading_by_time', true],
    ['drop index one_weight_of_a_group', true],
    ['create unique index u on unit (plate)', true],
    ['drop index unit_by_yard; create index unit_by_yard on unit (kind)', true],
  ]
  for (const [sql, isMended] of schemas) {
    for (const end of ['-wal', '-shm']) rmSync(file + end, { force: true })
    writeFileSync(file, small.now)
    const raw = new Database(file)
    if (sql.includes(' on v ')) raw.exec('create view v as select * from ticket')
    raw.exec(sql)
    raw.close()
    const became = await openStore(file).then(
      async (store) => {
        const { record } = answersOf(store)
        await store.close()
        return record === small.answers.record ? 'mended' : 'OTHER ANSWERS'
      },
      (error: unknown) => (error instanceof TarelineError ? error.code : String(error)),
    )
    count(`foreign schema: ${became}`)
    if (became !== (isMended ? 'mended' : 'damaged')) failed += 1
    expect([sql, became]).toEqual([sql, isMended ? 'mended' : 'damaged'])
  }
})
