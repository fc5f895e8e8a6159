import type Database from 'better-sqlite3'
import type { Compilable } from 'kysely'

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
