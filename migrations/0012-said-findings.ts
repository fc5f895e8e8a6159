import { type Kysely, sql } from 'kysely'

/**
 * A stored finding is told as data, the entry that says it and what of, so that it can be said in the measures in use.
 * Stored judgements follow from the record: those of before are dropped, and the first look makes them anew.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  for (const table of ['finding', 'group_standing', 'judged_with'])
    await sql`delete from ${sql.table(table)}`.execute(db)
  await sql`update books set judged_for = null, judged_revision = -1`.execute(db)
  await db.schema.alterTable('finding').dropColumn('message').execute()
  await db.schema.alterTable('finding').dropColumn('next_step').execute()
  await sql`alter table finding add column variant text not null default ''`.execute(db)
  await sql`alter table finding add column facts text not null default '{}' check (json_valid(facts))`.execute(db)
}
