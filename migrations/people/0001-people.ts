import { type Kysely, sql } from 'kysely'

/**
 * Who may come in: people, what they are let in by, and what has happened at the door. Of what opens the door only
 * hashes are stored. Times are UTC text with milliseconds.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  for (const statement of [
    // name_key: the name as two people with one name would write it; it is never given again, since the change log of
    // the record names people by it. password: null until it is chosen.
    sql`create table person (
      id integer primary key,
      name text not null,
      name_key text not null unique,
      role text not null check (role in ('driver', 'shop', 'counter', 'manager', 'owner')),
      units text not null check (json_valid(units)),
      password text,
      made_at text not null,
      made_by text not null,
      ended_at text
    ) strict`,
    sql`create table session (
      id integer primary key,
      person_id integer not null references person (id),
      token_hash text not null unique,
      begun_at text not null,
      ends_at text not null,
      seen_at text not null,
      address text not null,
      browser text not null
    ) strict`,
    sql`create index session_person on session (person_id)`,
    // One link a person: a new one takes the place of the last.
    sql`create table invitation (
      person_id integer primary key references person (id),
      token_hash text not null unique,
      made_at text not null,
      ends_at text not null
    ) strict`,
    // name: of whom; by: who did it; null where that is nobody in particular.
    sql`create table door_log (
      id integer primary key,
      at text not null,
      kind text not null,
      name text,
      by text,
      address text not null,
      detail text
    ) strict`,
    sql`create table setting (name text primary key, value text not null) strict, without rowid`,
  ])
    await statement.execute(db)
}
