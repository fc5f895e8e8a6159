import { type Kysely, sql } from 'kysely'

/**
 * What the first page of a day and the offers to weigh read of every standing stands in its index by unit: the rows
 * themselves hold whole lines, and are many pages more.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await sql`drop index group_standing_by_unit`.execute(db)
  await sql`create index group_standing_in_short on group_standing (unit_id, trust, due_on, weigh_regains)`.execute(db)
}
