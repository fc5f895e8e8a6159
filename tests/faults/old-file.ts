import Database from 'better-sqlite3'
import { Kysely, SqliteDialect } from 'kysely'
import { Migrator } from 'kysely/migration'
import { applicationId } from '#core/store/look.ts'
import { migrations } from '#migrations/index.ts'

/** Writes what a present file holds into a new one of the first schema step, as an old version of the app left it. */
export async function writeOldFile(present: string, old: string): Promise<void> {
  const raw = new Database(old)
  raw.pragma('journal_mode = WAL')
  const db = new Kysely<unknown>({ dialect: new SqliteDialect({ database: raw }) })
  const { error } = await new Migrator({ db, provider: { getMigrations: async () => migrations } }).migrateTo(
    '0001-ledger',
  )
  if (error) throw error
  raw.pragma('foreign_keys = OFF')
  raw.prepare('attach ? as present').run(present)
  const tables = raw
    .prepare(
      "select name from main.sqlite_schema where type = 'table' and name not like 'sqlite_%' and name not like 'kysely_%'",
    )
    .pluck()
    .all() as string[]
  const columnsOf = (schema: string, table: string) =>
    raw.prepare('select name from pragma_table_info(?, ?)').pluck().all(table, schema) as string[]
  raw.transaction(() => {
    for (const table of tables) {
      const there = new Set(columnsOf('present', table))
      const columns = columnsOf('main', table)
        .filter((column) => there.has(column))
        .map((column) => `"${column}"`)
        .join(', ')
      // Derived tables of the old version that this one has no more.
      if (columns === '') continue
      raw.exec(
        `delete from main."${table}"; insert into main."${table}" (${columns}) select ${columns} from present."${table}"`,
      )
    }
  })()
  raw.exec('detach present')
  raw.pragma(`application_id = ${applicationId}`)
  raw.pragma('user_version = 1')
  await db.destroy()
}
