import { type Kysely, sql } from 'kysely'

/**
 * An onboard verdict that was once stored, and so could be shown, and is no longer held, stands beside the one that is
 * held now: the first one said, with its weight where it was known. A correction, a calibration, a check or a change
 * that has come to light replaces none without a word.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await sql`alter table heavy add column said_verdict text
    check (said_verdict in ('under', 'too close to call', 'over'))`.execute(db)
  await sql`alter table heavy add column said_weight_lb real`.execute(db)
  await sql`alter table heavy add column said_u_lb real`.execute(db)
}
