import type Database from 'better-sqlite3'
import { createHash } from 'node:crypto'
import { countRows, numberOf } from '#core/store/rows.ts'
import { type SealColumn, stretchesOf } from '#migrations/seal-table.ts'

/**
 * Seals: a digest for each stretch of a table's rows, by which rows that changed without anybody writing them are found
 * out: a flipped bit in a weight, an old sector under new ones. SQLite itself notices nothing of these. What a program
 * writes marks its stretch as unsealed by triggers (migrations/seal-table.ts), whichever program it is, and is sealed
 * again a moment later. Seals tell of accidents; who wants to deceive can seal anew.
 */

/** Follows from the record: sealed as a whole, and made anew rather than restored. */
const tablesMade = [
  'finding',
  'group_standing',
  'heavy',
  'weighed_unit',
  'judged_with',
  'fleet_figures',
  'roster_line',
  'roster_behind',
  'sensor_words',
]
const madeMark = 'made'
/**
 * Tables to which rows are only added: each stretch's digest begins with that of the one before, as links of a chain.
 */
const chained: ReadonlySet<string> = new Set(['change_log'])

/** Whether a file is of a step that has seals. */
export const hasSeals = (raw: Database.Database): boolean =>
  numberOf(raw, "select count(*) from sqlite_schema where type = 'table' and name in ('seal', 'unsealed')") === 2

/** Those of them that a file of its step has. */
const madeTables = (raw: Database.Database): string[] => {
  const exists = raw.prepare("select 1 from sqlite_schema where type = 'table' and name = ?")
  return tablesMade.filter((name) => exists.get(name) !== undefined)
}

interface Sealed {
  /** The digest of a stretch; null where it holds no row. */
  digest(stretch: number): string | null
  stretches(): number[]
}

/** Text of a value: a number with all its digits, so that the last bit tells. */
const textOf = ({ name, type }: SealColumn): string =>
  type.toLowerCase() === 'real' ? `quote("${name}")` : `ifnull("${name}", char(30))`

const columnsOf = (raw: Database.Database, table: string): SealColumn[] =>
  raw.prepare('select name, type, pk from pragma_table_info(?)').all(table) as SealColumn[]

const lineOf = (columns: readonly SealColumn[]): string => `concat_ws(char(31), ${columns.map(textOf).join(', ')})`

/** The columns of the key, in its order. */
const orderOf = (columns: readonly SealColumn[]): string =>
  columns
    .filter(({ pk }) => pk > 0)
    .sort((a, b) => a.pk - b.pk)
    .map(({ name }) => `"${name}"`)
    .join(', ')

function sealedTable(raw: Database.Database, table: string): Sealed {
  const columns = columnsOf(raw, table)
  const by = stretchesOf(columns)
  const order = orderOf(columns)
  const line = lineOf(columns)
  // The rows themselves, never an index over them.
  const from = `from "${table}" not indexed`
  const where = by ? `where "${by.column}" >= ? and "${by.column}" < ?` : ''
  const rows = raw
    .prepare(`select group_concat(line, char(10)) from (select ${line} as line ${from} ${where} order by ${order})`)
    .pluck()
  const next = by && raw.prepare(`select min("${by.column}") ${from} where "${by.column}" >= ?`).pluck()
  const seal = raw.prepare('select digest from seal where table_name = ? and stretch = ?').pluck()
  const bounds = (stretch: number) => (by ? [stretch * 2 ** by.bits, (stretch + 1) * 2 ** by.bits] : [])
  return {
    digest: (stretch) => {
      const text = rows.get(...bounds(stretch)) as string | null
      if (text === null) return null
      const before = chained.has(table) ? ((seal.get(table, stretch - 1) as string | undefined) ?? '') : ''
      return createHash('sha256').update(before).update(text).digest('hex').slice(0, 32)
    },
    stretches: () => {
      if (!by || !next) return [0]
      const found: number[] = []
      for (let at: number | null = 0; ; at = (found.at(-1) as number) + 1) {
        const first = next.get(at * 2 ** by.bits) as number | null
        if (first === null) return found
        found.push(Math.floor(first / 2 ** by.bits))
      }
    },
  }
}

/** The tables whose changes are marked: those that have the triggers for it. */
const recordTables = (raw: Database.Database): string[] =>
  raw
    .prepare(
      "select tbl_name from sqlite_schema where type = 'trigger' and name = 'unseal_' || tbl_name || '_added' order by 1",
    )
    .pluck()
    .all() as string[]

/**
 * Has the many rows that are to be added to some tables marked all at once when what it returns is called, in place of
 * each by itself, which would take as long as the row; inside a transaction, so that a crash leaves all as it was.
 */
export function markAtOnce(raw: Database.Database, tables: readonly string[]): () => void {
  if (!raw.inTransaction) throw new RangeError('marks may only rest inside a transaction')
  const definition = raw.prepare("select sql from sqlite_schema where type = 'trigger' and name = ?").pluck()
  const resting = tables.map((table) => {
    const name = `unseal_${table}_added`
    const made = definition.get(name) as string
    raw.exec(`drop trigger ${name}`)
    return { table, made }
  })
  return () => {
    for (const { table, made } of resting) {
      const by = stretchesOf(columnsOf(raw, table))
      // From the first row of each stretch to that of the next, past the rows between.
      if (by)
        raw.exec(`insert into unsealed
          with recursive held (stretch) as (
            select min("${by.column}") >> ${by.bits} from "${table}"
            union all select (select min("${by.column}") >> ${by.bits} from "${table}"
              where "${by.column}" >= (stretch + 1) << ${by.bits}) from held where stretch is not null)
          select '${table}', stretch from held where stretch is not null on conflict do nothing`)
      else raw.exec(`insert into unsealed values ('${table}', 0) on conflict do nothing`)
      raw.exec(made)
    }
  }
}

/**
 * One digest of all rows of the record as they lie in a file, whatever its seals say; of a step without seals, of every
 * row.
 */
export function recordDigest(raw: Database.Database): string {
  const hash = createHash('sha256')
  const sealed = recordTables(raw)
  for (const table of sealed.length > 0 ? sealed : [...countRows(raw).keys()]) {
    const columns = columnsOf(raw, table)
    hash.update(`\n${table}\n`)
    const rows = raw
      .prepare(`select ${lineOf(columns)} from "${table}" not indexed order by ${orderOf(columns) || 'rowid'}`)
      .pluck()
    for (const line of rows.iterate() as Iterable<string>) hash.update(line).update('\n')
  }
  return hash.digest('hex')
}

/** Whether rows of a table are other than they were sealed, in a stretch that nobody wrote to since. */
function isChanged(raw: Database.Database, table: string): boolean {
  const { digest, stretches } = sealedTable(raw, table)
  const seals = new Map(
    raw.prepare('select stretch, digest from seal where table_name = ?').raw().all(table) as [number, string][],
  )
  const open = new Set(raw.prepare('select stretch from unsealed where table_name = ?').pluck().all(table) as number[])
  return [...new Set([...seals.keys(), ...stretches()])].some(
    // A link of the chain rests on the one before, which may be open.
    (stretch) =>
      !open.has(stretch) &&
      !(chained.has(table) && open.has(stretch - 1)) &&
      digest(stretch) !== (seals.get(stretch) ?? null),
  )
}

export interface BrokenSeals {
  /** Tables of the record with rows that nobody wrote as they are. */
  readonly record: readonly string[]
  /** Whether judgements or weights are other than they were made. */
  readonly made: boolean
}

/** Holds every sealed row against its seal. Reads all of the file, within the caller's transaction if there is one. */
export function brokenSeals(raw: Database.Database): BrokenSeals {
  if (!hasSeals(raw)) return { record: [], made: false }
  const isOpen = raw.prepare('select 1 from unsealed where table_name = ?').get(madeMark) !== undefined
  return {
    record: recordTables(raw).filter((table) => isChanged(raw, table)),
    made: !isOpen && madeTables(raw).some((table) => isChanged(raw, table)),
  }
}

function sealStretch(raw: Database.Database, table: string, sealed: Sealed, stretch: number): void {
  const digest = sealed.digest(stretch)
  if (digest === null) raw.prepare('delete from seal where table_name = ? and stretch = ?').run(table, stretch)
  else
    raw
      .prepare(
        'insert into seal values (?, ?, ?) on conflict (table_name, stretch) do update set digest = excluded.digest',
      )
      .run(table, stretch, digest)
}

const areBehind = (raw: Database.Database): boolean =>
  ['behind_fleet', 'behind_unit', 'behind_weighing'].some(
    (table) => raw.prepare(`select 1 from ${table} limit 1`).get() !== undefined,
  )

const isMadeOpen = (raw: Database.Database): boolean =>
  raw.prepare('select 1 from unsealed where table_name = ?').get(madeMark) !== undefined && !areBehind(raw)

/** Whether there is anything to seal; judgements and weights are where they are up to the record. */
export const isToSeal = (raw: Database.Database, { withMade = true } = {}): boolean =>
  raw.prepare('select 1 from unsealed where table_name <> ? limit 1').get(madeMark) !== undefined ||
  (withMade && isMadeOpen(raw))

function sealMade(raw: Database.Database): void {
  for (const table of madeTables(raw)) {
    raw.prepare('delete from seal where table_name = ?').run(table)
    const sealed = sealedTable(raw, table)
    for (const stretch of sealed.stretches()) sealStretch(raw, table, sealed, stretch)
  }
  raw.prepare('delete from unsealed where table_name = ?').run(madeMark)
}

/** Stretches of one transaction: others who wish to write wait a quarter of a second at most. */
const stretchesAtOnce = 200

/**
 * Seals what was written since the last time, and judgements and weights too where they are up to the record and
 * `withMade` asks for it. Each transaction is short. Returns how many stretches were sealed.
 */
export function sealWritten(raw: Database.Database, { withMade = true } = {}): number {
  if (!hasSeals(raw)) return 0
  const written = raw
    .prepare('select table_name, stretch from unsealed where table_name <> ? order by table_name, stretch limit ?')
    .raw()
  const unmark = raw.prepare('delete from unsealed where table_name = ? and stretch = ?')
  const some = raw.transaction((): number => {
    const found = written.all(madeMark, stretchesAtOnce) as [string, number][]
    const byTable = Map.groupBy(found, ([table]) => table)
    for (const [table, marks] of byTable) {
      const sealed = sealedTable(raw, table)
      const stretches = marks.map(([, stretch]) => stretch)
      const first = Math.min(...stretches)
      // Later links of a chain rest on the first one that is made anew.
      const links = chained.has(table) ? sealed.stretches().filter((stretch) => stretch > first) : []
      for (const stretch of new Set([...stretches, ...links])) sealStretch(raw, table, sealed, stretch)
      for (const stretch of stretches) unmark.run(table, stretch)
    }
    return found.length
  })
  let sum = 0
  for (let found = stretchesAtOnce; found === stretchesAtOnce; sum += found) found = some.immediate()
  if (withMade)
    raw
      .transaction(() => {
        if (isMadeOpen(raw)) sealMade(raw)
      })
      .immediate()
  return sum
}

/** Seals all of a file anew, as after a step that changed its tables; inside the caller's transaction. */
export function sealAll(raw: Database.Database): void {
  raw.exec(`delete from seal; delete from unsealed; insert into unsealed values ('${madeMark}', 0)`)
  for (const table of recordTables(raw)) {
    const sealed = sealedTable(raw, table)
    for (const stretch of sealed.stretches()) sealStretch(raw, table, sealed, stretch)
  }
}
