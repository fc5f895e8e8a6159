import type Database from 'better-sqlite3'
import type { Stored } from '#core/store/kept-table.ts'
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
