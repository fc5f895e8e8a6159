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
    raw
      .prepare('select name, "notnull" and dflt_value is null and not pk needed from pragma_table_info(?, ?)')
      .all(table, schema) as { name: string; needed: number }[]
  raw.transaction(() => {
    for (const table of tables) {
      const there = new Set(columnsOf('present', table).map(({ name }) => name))
      const old = columnsOf('main', table)
      const columns = old.flatMap(({ name }) => (there.has(name) ? [`"${name}"`] : [])).join(', ')
      // Derived tables of the old version that this one has no more, or fills otherwise: they stood empty before a
      // look.
      if (columns === '' || old.some(({ name, needed }) => needed === 1 && !there.has(name))) continue
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
