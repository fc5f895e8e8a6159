import type Database from 'better-sqlite3'
import { numberOf } from '#core/store/rows.ts'

export type Stored = string | number | null

/** What became of a row: its record's id, and the columns that say other than what is stored. */
export type Kept =
  | { readonly outcome: 'added' | 'completed' | 'same'; readonly id: number }
  /** Nothing is stored under the key, and the row leaves a column empty that a new record needs. */
  | { readonly outcome: 'incomplete'; readonly column: string }
  | { readonly outcome: 'contradicts'; readonly id: number; readonly differences: readonly Difference[] }

export interface Difference {
  readonly column: string
  readonly stored: Stored
  /** Line of this import that stored the record; null when it was there before. */
  readonly line: number | null
}

export interface KeptTable<C extends string> {
  /**
   * Keeps a row under its key: adds it; or fills in what is stored as unknown; or finds it the same. A value of null
   * says nothing and so contradicts nothing. Keys and values in the order in which the columns were named.
   */
  keep(key: readonly Stored[], values: readonly Stored[], line: number): Kept
  /** The id stored under a key. */
  find(key: readonly Stored[]): number | undefined
  /** The key under which a row of a key would be kept. */
  spelt(key: readonly Stored[]): readonly Stored[]
  /** Takes down the line that added a record by another way (a bulk insert with an id of `nextId`). */
  noteLine(id: number, line: number): void
  readonly nextId: number
  readonly columns: readonly C[]
}

/** A record as it is stored: its id, the values of its key, those of its columns. */
type StoredRow = readonly [number, ...Stored[]]

/** Rows that are read at a time ahead of those that are asked for. */
const rowsAhead = 256

interface Shape<K extends string, C extends string> {
  readonly table: string
  /** Together they name a record; those in `nullable` may be null, which counts as a value of its own. */
  readonly key: readonly K[]
  readonly nullable?: readonly K[]
  readonly columns: readonly C[]
  /** Columns without which no record can be added. */
  readonly needed?: readonly C[]
  /** Under which key a record is stored, where the last of the key is a name that may be spelt otherwise. */
  readonly spelt?: (key: readonly Stored[], keeping: boolean) => readonly Stored[]
}

/**
 * Rows of one table, each kept by its key through prepared statements: a fleet folder brings up to a million of them.
 * The table has an `id` and a unique index over the key.
 */
export function keptTable<K extends string, C extends string>(
  raw: Database.Database,
  shape: Shape<K, C>,
): KeptTable<C> {
  const { table, key, columns, nullable = [], needed = [], spelt = (values) => values } = shape
  const all = [...key, ...columns]
  const insert = raw.prepare(
    `insert into ${table} (id, ${all.join(', ')}) values (?${', ?'.repeat(all.length)}) on conflict do nothing`,
  )
  const match = key
    .map((column) => (nullable.includes(column) ? `ifnull(${column}, 0) = ifnull(?, 0)` : `${column} = ?`))
    .join(' and ')
  const select = raw.prepare(`select ${['id', ...all].join(', ')} from ${table} where ${match}`).raw()
  const selectFollowing = raw
    .prepare(`select ${['id', ...all].join(', ')} from ${table} where id > ? order by id limit ${rowsAhead}`)
    .raw()
  const complete =
    columns.length > 0 &&
    raw.prepare(
      `update ${table} set ${columns.map((column) => `${column} = ifnull(${column}, ?)`).join(', ')} where id = ?`,
    )
  const firstId = numberOf(raw, `select ifnull(max(id), 0) + 1 from ${table}`)
  const lines: number[] = []
  const neededAt = needed.map((column) => columns.indexOf(column))
  let nextId = firstId
  /** What is tried first: rows of a folder are mostly all new or all stored. */
  let seldomNew = false
  /** Rows that follow the one found last, the next one by its place: a folder mostly names them in that order. */
  let ahead: readonly StoredRow[] = []
  let place = 0
  let foundLast = 0

  const find = (keyValues: readonly Stored[]): StoredRow | undefined => {
    const next = ahead[place]
    if (next && keyValues.every((value, index) => next[index + 1] === value)) {
      place += 1
      foundLast = next[0]
      return next
    }
    const row = select.get(keyValues) as StoredRow | undefined
    if (row && row[0] === foundLast + 1) {
      ahead = selectFollowing.all(row[0]) as StoredRow[]
      place = 0
    }
    foundLast = row?.[0] ?? 0
    return row
  }
  const noteLine = (id: number, line: number) => {
    lines[id - firstId] = line
    nextId = id + 1
  }
  return {
    columns,
    get nextId() {
      return nextId
    },
    noteLine,
    find: (keyValues) => find(spelt(keyValues, false))?.[0],
    spelt: (keyValues) => spelt(keyValues, true),
    keep: (asked, values, line) => {
      const keyValues = spelt(asked, true)
      const missing = neededAt.find((index) => values[index] === null)
      let found = seldomNew ? find(keyValues) : undefined
      if (!found && missing === undefined) {
        const id = nextId
        seldomNew = insert.run(id, ...keyValues, ...values).changes === 0
        if (!seldomNew) {
          noteLine(id, line)
          return { outcome: 'added', id }
        }
      }
      found ??= find(keyValues)
      if (!found) return { outcome: 'incomplete', column: columns[missing ?? 0] as string }
      const id = found[0]
      const stored = found.slice(1 + key.length)
      if (values.every((value, index) => value === null || value === stored[index])) return { outcome: 'same', id }
      const from = lines[id - firstId] ?? null
      const differences = columns.flatMap((column, index): Difference[] => {
        const value = values[index] as Stored
        const known = stored[index] as Stored
        return value === null || known === null || value === known ? [] : [{ column, stored: known, line: from }]
      })
      if (differences.length > 0) return { outcome: 'contradicts', id, differences }
      if (!complete) return { outcome: 'same', id }
      complete.run(...values, id)
      // It may be among them, as it was.
      ahead = []
      return { outcome: 'completed', id }
    },
  }
}
