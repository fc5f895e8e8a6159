import type Database from 'better-sqlite3'
import type { Kysely } from 'kysely'
import { type Migration, Migrator } from 'kysely/migration'

/** What a kind of database of ours is known by, and the steps that make it. */
export interface DatabaseKind {
  readonly applicationId: number
  readonly migrations: Record<string, Migration>
}

/**
 * Runs the missing steps and what settles them as one transaction, which Kysely does not do on SQLite, and marks the
 * file with its kind and step. Errors: those of the steps and of `settle`; the file is then as it was.
 */
export async function bringUp<Schema>(
  raw: Database.Database,
  db: Kysely<Schema>,
  { applicationId, migrations }: DatabaseKind,
  settle: () => Promise<void>,
): Promise<void> {
  raw.exec('begin immediate')
  try {
    const { error } = await new Migrator({ db, provider: { getMigrations: async () => migrations } }).migrateToLatest()
    if (error) throw error
    await settle()
    raw.pragma(`application_id = ${applicationId}`)
    raw.pragma(`user_version = ${Object.keys(migrations).length}`)
    raw.exec('commit')
  } catch (error) {
    if (raw.inTransaction) raw.exec('rollback')
    throw error
  }
}
