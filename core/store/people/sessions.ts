import type { Account, PeopleWriter } from '#core/store/people/accounts.ts'
import { accountById } from '#core/store/people/accounts.ts'
import type { PeopleDb } from '#core/store/people/people-file.ts'

export interface StoredSession {
  readonly id: number
  readonly personId: number
  readonly begunAt: string
  readonly endsAt: string
  readonly seenAt: string
  readonly address: string
  readonly browser: string
}

/** At more desks at once nobody works: of more sessions of a person the oldest ends. */
const mostSessions = 20

interface NewSession {
  readonly personId: number
  readonly tokenHash: string
  readonly at: string
  readonly endsAt: string
  readonly address: string
  readonly browser: string
}

export async function addSession(
  db: PeopleWriter,
  { personId, tokenHash, at, endsAt, address, browser }: NewSession,
): Promise<number> {
  await db.deleteFrom('session').where('ends_at', '<=', at).execute()
  const { id } = await db
    .insertInto('session')
    .values({
      person_id: personId,
      token_hash: tokenHash,
      begun_at: at,
      ends_at: endsAt,
      seen_at: at,
      address,
      browser,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  await db
    .deleteFrom('session')
    .where('person_id', '=', personId)
    .where('id', 'not in', (eb) =>
      eb
        .selectFrom('session')
        .select('id')
        .where('person_id', '=', personId)
        .orderBy('begun_at', 'desc')
        .orderBy('id', 'desc')
        .limit(mostSessions),
    )
    .execute()
  return id
}

const sessionOf = (row: {
  readonly id: number
  readonly person_id: number
  readonly begun_at: string
  readonly ends_at: string
  readonly seen_at: string
  readonly address: string
  readonly browser: string
}): StoredSession => ({
  id: row.id,
  personId: row.person_id,
  begunAt: row.begun_at,
  endsAt: row.ends_at,
  seenAt: row.seen_at,
  address: row.address,
  browser: row.browser,
})

/** The session behind a hash with its person, while it lasts and the person may come in. now: stored instant. */
export async function findSession(
  db: PeopleDb,
  tokenHash: string,
  now: string,
): Promise<{ session: StoredSession; account: Account } | undefined> {
  const row = await db
    .selectFrom('session')
    .selectAll()
    .where('token_hash', '=', tokenHash)
    .where('ends_at', '>', now)
    .executeTakeFirst()
  const account = row && (await accountById(db, row.person_id))
  return account && !account.ended ? { session: sessionOf(row), account } : undefined
}

export async function noteSeen(db: PeopleDb, id: number, at: string): Promise<void> {
  await db.updateTable('session').set({ seen_at: at }).where('id', '=', id).execute()
}

export async function sessionById(db: PeopleDb, id: number): Promise<StoredSession | undefined> {
  const row = await db.selectFrom('session').selectAll().where('id', '=', id).executeTakeFirst()
  return row && sessionOf(row)
}

/** Sessions that last, the latest first. now: stored instant. */
export async function listSessions(db: PeopleDb, now: string): Promise<StoredSession[]> {
  const rows = await db
    .selectFrom('session')
    .selectAll()
    .where('ends_at', '>', now)
    .orderBy('begun_at', 'desc')
    .orderBy('id', 'desc')
    .execute()
  return rows.map(sessionOf)
}

export async function endSession(db: PeopleWriter, id: number): Promise<number> {
  const { numDeletedRows } = await db.deleteFrom('session').where('id', '=', id).executeTakeFirstOrThrow()
  return Number(numDeletedRows)
}

/** Ends the sessions of a person, but for one where that is named; answers how many. */
export async function endSessionsOf(db: PeopleWriter, personId: number, but: number | null = null): Promise<number> {
  const { numDeletedRows } = await db
    .deleteFrom('session')
    .where('person_id', '=', personId)
    .$if(but !== null, (query) => query.where('id', '<>', but))
    .executeTakeFirstOrThrow()
  return Number(numDeletedRows)
}
