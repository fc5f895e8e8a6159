import { type Kysely, sql } from 'kysely'

/** House Rules that are texts, first the time zone in which a fleet counts its days. */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('house_setting')
    .addColumn('name', 'text', (c) => c.primaryKey().check(sql`length(trim(name)) > 0`))
    .addColumn('value', 'text', (c) => c.notNull().check(sql`length(trim(value)) > 0`))
    .modifyEnd(sql`strict`)
    .execute()
  // Judgements and weights of the step before are of days of UTC: they are made anew in the fleet's.
  await sql`insert into behind_fleet (what, since)
    select w.what, l.revision from (select 'judge' as what union select 'weigh') w, ledger l, books b
    where b.judged_for is not null or b.weighed_revision >= 0
    on conflict (what) do nothing`.execute(db)
}
