import type Database from 'better-sqlite3'
import { type Compilable, type RawBuilder, type SqlBool, sql } from 'kysely'

/**
 * Walks a query's rows as plain arrays, one at a time: Kysely writes the SQL, the raw handle runs it without making an
 * object a row. For tables of a million rows; everything smaller goes through Kysely itself.
 */
export function walk<Row extends readonly unknown[]>(raw: Database.Database, query: Compilable): IterableIterator<Row> {
  const { sql, parameters } = query.compile()
  return raw
    .prepare(sql)
    .raw()
    .iterate(...parameters) as IterableIterator<Row>
}

/** Ids to be found among, as one value of a statement, however many there are. */
export const among = (ids: readonly number[]): RawBuilder<number> =>
  sql<number>`(select value from json_each(${JSON.stringify(ids)}))`

/** The one number that a query answers. */
export const numberOf = (raw: Database.Database, query: string): number => Number(raw.prepare(query).pluck().get())

/** How many rows each table of a file holds. */
export function countRows(raw: Database.Database): Map<string, number> {
  const tables = raw
    .prepare("select name from sqlite_schema where type = 'table' and name not like 'sqlite_%' order by name")
    .pluck()
    .all() as string[]
  return new Map(tables.map((table) => [table, numberOf(raw, `select count(*) from "${table}"`)]))
}

/** The indexes of a file's tables that no lookup of an import needs. */
const indexes = {
  tickets: ['ticket_by_time', 'ticket_weight_by_group', 'ticket_weight_by_unit'],
  readings: ['reading_by_time', 'reading_by_ticket', 'reading_pressure_by_circuit'],
  calibrations: ['calibration_point_by_ticket', 'calibration_point_by_reading'],
} as const

/**
 * Makes ready for a mass of rows, inside a transaction, so that a crash leaves all as it was; what it returns is to be
 * called after them. Indexes are dropped and made anew at the end: sorting a million keys once is quicker than finding
 * the place of each. The tables' checks rest meanwhile, since the import has held every value to the same ranges
 * already (a test holds the two together); they take a fifth of the time.
 */
export function easeManyRows(raw: Database.Database, file: keyof typeof indexes): () => void {
  if (!raw.inTransaction) throw new RangeError('indexes may only rest inside a transaction')
  const find = raw.prepare("select sql from sqlite_schema where type = 'index' and name = ?").pluck()
  const definitions = indexes[file].map((name) => find.get(name) as string)
  for (const name of indexes[file]) raw.exec(`drop index ${name}`)
  raw.pragma('ignore_check_constraints = ON')
  return () => {
    raw.pragma('ignore_check_constraints = OFF')
    for (const definition of definitions) raw.exec(definition)
  }
}

/** As SQLite's `lower` does it, which knows A to Z. */
const lower = (text: string) => text.replaceAll(/[A-Z]+/g, (capitals) => capitals.toLowerCase())

/**
 * Whether a text of the record contains a word; capitals of A to Z make no difference, and no sign is read as a
 * pattern.
 */
export const containsWord = (text: RawBuilder<string>, word: string) => smallContains(sql`lower(${text})`, word)

/** The same of a text that is small already. */
export const smallContains = (text: RawBuilder<string>, word: string) =>
  sql<SqlBool>`instr(${text}, ${lower(word)}) > 0`

/** The same of a text at hand. */
export const holdsWord = (text: string, word: string): boolean => lower(text).includes(lower(word))

export const wordsOf = (text: string): string[] => text.split(/\s+/).filter(Boolean)

/**
 * Up to so many rows that hold a text are looked up by their ids. More of them stand close together in the order of a
 * list, where a page of them is soon full.
 */
const fewRows = 2000

/**
 * The ids of the rows that hold every word of a text, found by a walk along what has the text in it, a fraction of the
 * table; undefined where they are many, or nothing is looked for.
 */
export async function fewWith<Row extends { readonly id: number }>(
  text: string,
  find: (words: readonly string[], limit: number) => Promise<readonly Row[]>,
): Promise<number[] | undefined> {
  const words = wordsOf(text)
  if (words.length === 0) return undefined
  const rows = await find(words, fewRows + 1)
  return rows.length > fewRows ? undefined : rows.map(({ id }) => id)
}
