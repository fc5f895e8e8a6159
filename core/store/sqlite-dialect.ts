import type Database from 'better-sqlite3'
import { type DatabaseConnection, type Driver, SqliteDialect, SqliteDriver } from 'kysely'

/**
 * Kysely's way to an open database. On a full disk or a disk error SQLite itself rolls a transaction back, and a second
 * rollback would fail with an error of its own in place of the one that tells what happened.
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
      override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
        if (raw.inTransaction) await super.rollbackTransaction(connection)
      }
    })({ database: raw })
  }
}
