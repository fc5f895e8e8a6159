import type Database from 'better-sqlite3'
import type { Difference, KeptTable, Stored } from '#core/store/kept-table.ts'
import { codeOf } from '#core/words/problem.ts'

/**
 * Rows of one statement: enough to spare most of the calls, few enough for SQLite's statement journal to stay in
 * memory.
 */
export const rowsPerStatement = 64

const isDuplicate = (error: unknown) =>
  ['SQLITE_CONSTRAINT_UNIQUE', 'SQLITE_CONSTRAINT_PRIMARYKEY'].includes(codeOf(error) ?? '')

export const placeholders = (width: number) => `(?${', ?'.repeat(width - 1)})`

/**
 * Adds `rowsPerStatement` rows of so many values at once: answers the id of the last, those before it count down to it;
 * undefined where one of them is stored already, and then none was added.
 */
export function addManyRows(
  raw: Database.Database,
  head: string,
  width: number,
): (values: readonly Stored[]) => number | undefined {
  const statement = raw.prepare(`${head} values ${Array(rowsPerStatement).fill(placeholders(width)).join(', ')}`)
  return (values) => {
    try {
      return Number(statement.run(values).lastInsertRowid)
    } catch (error) {
      if (!isDuplicate(error)) throw error
      return undefined
    }
  }
}

/** What became of rows: the id of each, and by its line the fate of each that was neither added nor there as it is. */
export interface KeptRows {
  readonly ids: readonly number[]
  readonly fates: ReadonlyMap<number, Fate>
}

export type Fate = 'completed' | readonly Difference[]

/**
 * Keeps rows of a table that are given as flat lists, each by all it has: where they are new, as in a first import, by
 * statements of many rows; a duplicate undoes its statement, and its rows are then kept one by one.
 */
export function manyKept(
  raw: Database.Database,
  table: KeptTable<string>,
  { into, key }: { readonly into: string; readonly key: readonly string[] },
): (values: readonly Stored[], lines: readonly number[]) => KeptRows {
  const columns = [...key, ...table.columns]
  const width = columns.length
  const addMany = addManyRows(raw, `insert into ${into} (${columns.join(', ')})`, width)
  /** Whether some of the last rows were stored already: then of the next ones mostly some are too. */
  let seldomNew = false
  return (values, lines) => {
    const ids: number[] = []
    const fates = new Map<number, Fate>()
    let anyKnown = false
    for (let at = 0; at < lines.length; at += rowsPerStatement) {
      const end = Math.min(at + rowsPerStatement, lines.length)
      const last = seldomNew || end - at < rowsPerStatement ? undefined : addMany(values.slice(at * width, end * width))
      for (let index = at; index < end; index += 1) {
        const line = lines[index] ?? 0
        if (last !== undefined) {
          const id = last - (end - 1 - index)
          ids.push(id)
          table.noteLine(id, line)
          continue
        }
        const row = values.slice(index * width, (index + 1) * width)
        const kept = table.keep(row.slice(0, key.length), row.slice(key.length), line)
        if (kept.outcome === 'incomplete') throw new RangeError(`line ${line} has no ${kept.column}`)
        ids.push(kept.id)
        if (kept.outcome !== 'added') anyKnown = true
        if (kept.outcome === 'completed') fates.set(line, 'completed')
        if (kept.outcome === 'contradicts') fates.set(line, kept.differences)
      }
    }
    seldomNew = anyKnown
    return { ids, fates }
  }
}
