import { type Kysely, sql } from 'kysely'

/**
 * Biases of scales were told from the fleet's middle scale and are now told absolutely, with their covariance: the
 * figures of before are dropped, and the first look learns and judges anew.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await sql`delete from fleet_figures`.execute(db)
  await sql`insert or ignore into behind_fleet (what, since) select 'learn', revision from ledger`.execute(db)
}
