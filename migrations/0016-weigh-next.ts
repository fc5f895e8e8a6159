import { type Kysely, sql } from 'kysely'

/**
 * The weighings that would teach most stand with the standing of each group, as JSON, and what the first of them would
 * regain; all are judged anew for it.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema.alterTable('group_standing').addColumn('weigh_next', 'text').execute()
  await db.schema.alterTable('group_standing').addColumn('weigh_regains', 'real').execute()
  await sql`insert into behind_fleet (what, since) select 'judge', revision from ledger where true
    on conflict (what) do update set since = excluded.since`.execute(db)
}
