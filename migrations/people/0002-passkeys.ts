import { type Kysely, sql } from 'kysely'

/**
 * Passkeys, each of one person and good under one name of the house. A public key lets nobody in who reads it here.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  for (const statement of [
    // credential: base64url, as the browser names it; counter: how often it says that it was used.
    sql`create table passkey (
      id integer primary key,
      person_id integer not null references person (id),
      host text not null,
      credential text not null unique,
      public_key text not null,
      counter integer not null,
      transports text not null check (json_valid(transports)),
      made_at text not null,
      used_at text
    ) strict`,
    sql`create index passkey_person on passkey (person_id)`,
  ])
    await statement.execute(db)
}
