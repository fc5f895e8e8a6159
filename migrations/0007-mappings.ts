import { type Kysely, sql } from 'kysely'

/** How foreign CSV files are read, by the names people gave it: part of no record, so nothing refers to it. */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('mapping')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('name', 'text', (c) => c.notNull().unique().check(sql`length(trim(name)) > 0`))
    .addColumn('settings', 'text', (c) => c.notNull().check(sql`json_valid(settings)`))
    .modifyEnd(sql`strict`)
    .execute()
}
