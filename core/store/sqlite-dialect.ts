import type Database from 'better-sqlite3'
import { CompiledQuery, type DatabaseConnection, type Driver, SqliteDialect, SqliteDriver } from 'kysely'

/**
 * Kysely's way to an open database. A transaction takes the right to write at once and waits its turn for it: one that
 * reads first and writes later would be refused without waiting when a thread of the app has stored a judgement in
 * between. On a full disk or a disk error SQLite itself rolls a transaction back, and a second rollback would fail with
 * an error of its own in place of the one that tells what happened.
 */
export class OpenDatabaseDialect extends SqliteDialect {
  readonly #raw: Database.Database

  constructor(raw: Database.Database) {
    super({ database: raw })
    this.#raw = raw
  }

  override createDriver(): Driver {
    const raw = this.#raw
    return new (class extends SqliteDriver {
      override async beginTransaction(connection: DatabaseConnection): Promise<void> {
        await connection.executeQuery(CompiledQuery.raw('begin immediate'))
      }

      override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
        if (raw.inTransaction) await super.rollbackTransaction(connection)
      }
    })({ database: raw })
  }
}
