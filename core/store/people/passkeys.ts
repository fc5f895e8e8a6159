import type { PeopleWriter } from '#core/store/people/accounts.ts'
import type { PeopleDb } from '#core/store/people/people-file.ts'

/** A passkey as the house keeps it; texts in base64url. */
export interface StoredPasskey {
  readonly id: number
  readonly personId: number
  /** The name of the house that it is good for. */
  readonly host: string
  readonly credential: string
  readonly publicKey: string
  readonly counter: number
  readonly transports: readonly string[]
  readonly madeAt: string
  readonly usedAt: string | null
}

/** More devices than that nobody signs in with. */
export const mostPasskeys = 10

const passkeys = (db: Pick<PeopleDb, 'selectFrom'>) => db.selectFrom('passkey').selectAll()
type Row = Awaited<ReturnType<ReturnType<typeof passkeys>['executeTakeFirstOrThrow']>>

const passkeyOf = (row: Row): StoredPasskey => ({
  id: row.id,
  personId: row.person_id,
  host: row.host,
  credential: row.credential,
  publicKey: row.public_key,
  counter: row.counter,
  transports: JSON.parse(row.transports) as string[],
  madeAt: row.made_at,
  usedAt: row.used_at,
})

export const listPasskeys = async (db: PeopleDb, personId: number): Promise<StoredPasskey[]> =>
  (await passkeys(db).where('person_id', '=', personId).orderBy('id').execute()).map(passkeyOf)

export async function findPasskey(db: PeopleDb, credential: string): Promise<StoredPasskey | undefined> {
  const row = await passkeys(db).where('credential', '=', credential).executeTakeFirst()
  return row && passkeyOf(row)
}

export async function addPasskey(db: PeopleWriter, passkey: Omit<StoredPasskey, 'id' | 'usedAt'>): Promise<void> {
  await db
    .insertInto('passkey')
    .values({
      person_id: passkey.personId,
      host: passkey.host,
      credential: passkey.credential,
      public_key: passkey.publicKey,
      counter: passkey.counter,
      transports: JSON.stringify(passkey.transports),
      made_at: passkey.madeAt,
      used_at: null,
    })
    .execute()
}

/** Notes that a passkey was used; false where it is gone, or was used otherwise since it was read. */
export async function notePasskeyUsed(
  db: PeopleWriter,
  read: Pick<StoredPasskey, 'id' | 'counter'>,
  counter: number,
  at: string,
): Promise<boolean> {
  const { numUpdatedRows } = await db
    .updateTable('passkey')
    .set({ counter, used_at: at })
    .where('id', '=', read.id)
    .where('counter', '=', read.counter)
    .executeTakeFirstOrThrow()
  return numUpdatedRows === 1n
}

/** Takes a passkey of a person away; false where there is none. */
export async function dropPasskey(db: PeopleWriter, personId: number, id: number): Promise<boolean> {
  const { numDeletedRows } = await db
    .deleteFrom('passkey')
    .where('person_id', '=', personId)
    .where('id', '=', id)
    .executeTakeFirstOrThrow()
  return numDeletedRows === 1n
}

export async function dropPasskeysOf(db: PeopleWriter, personId: number): Promise<void> {
  await db.deleteFrom('passkey').where('person_id', '=', personId).execute()
}
