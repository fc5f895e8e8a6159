import type Database from 'better-sqlite3'

const indexes = ['reading_by_time', 'reading_by_ticket', 'reading_pressure_by_circuit']

/**
 * Drops the indexes of readings that no lookup of an import needs, and returns what makes them anew: sorting a million keys
 * once is quicker than finding the place of each. Only inside a transaction, so that a crash leaves them as they were.
 */
export function restReadingIndexes(raw: Database.Database): () => void {
  if (!raw.inTransaction) throw new RangeError('indexes may only rest inside a transaction')
  const definitions = indexes.map((name) => raw.prepare("select sql from sqlite_schema where type = 'index' and name = ?").pluck().get(name) as string)
  for (const name of indexes) raw.exec(`drop index ${name}`)
  return () => {
    for (const definition of definitions) raw.exec(definition)
  }
}
