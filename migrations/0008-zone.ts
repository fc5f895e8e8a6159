import { type Kysely, sql } from 'kysely'

/** House Rules that are texts, first the time zone in which a fleet counts its days. */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('house_setting')
    .addColumn('name', 'text', (c) => c.primaryKey().check(sql`length(trim(name)) > 0`))
    .addColumn('value', 'text', (c) => c.notNull().check(sql`length(trim(value)) > 0`))
    .modifyEnd(sql`strict`)
    .execute()
  // Stored judgements speak of days of UTC: they are no longer current, and are made anew in the fleet's days.
  await sql`update assessment set revision = revision - 1`.execute(db)
}
