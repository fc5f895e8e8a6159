import type { Transaction } from 'kysely'
import type { PeopleDb } from '#core/store/people/people-file.ts'
import type { PeopleSchema } from '#core/store/people/schema.ts'
import type { Role } from '#core/words/roles.ts'

type PeopleReader = Pick<PeopleDb, 'selectFrom'>
export type PeopleWriter = Transaction<PeopleSchema>

/** What a person may do, and on which units. */
export interface Rights {
  readonly role: Role
  /** Of a driver: the units given. */
  readonly units: readonly string[]
}

export interface Account extends Rights {
  readonly id: number
  readonly name: string
  /** null until it is chosen. */
  readonly password: string | null
  readonly madeAt: string
  readonly madeBy: string
  readonly ended: boolean
}

/** The same name however it is typed: one person has it, for good. */
export const nameKey = (name: string): string => name.normalize('NFKC').trim().replaceAll(/\s+/g, ' ').toLowerCase()

const unitsIn = (text: string): string[] => {
  const units: unknown = JSON.parse(text)
  return Array.isArray(units) ? units.filter((unit) => typeof unit === 'string') : []
}

const accountOf = (row: Omit<PeopleSchema['person'], 'id'> & { readonly id: number }): Account => ({
  id: row.id,
  name: row.name,
  role: row.role,
  units: unitsIn(row.units),
  password: row.password,
  madeAt: row.made_at,
  madeBy: row.made_by,
  ended: row.ended_at !== null,
})

export async function listAccounts(db: PeopleReader): Promise<Account[]> {
  return (await db.selectFrom('person').selectAll().orderBy('name_key').execute()).map(accountOf)
}

export async function findAccount(db: PeopleReader, name: string): Promise<Account | undefined> {
  const row = await db.selectFrom('person').selectAll().where('name_key', '=', nameKey(name)).executeTakeFirst()
  return row && accountOf(row)
}

export async function accountById(db: PeopleReader, id: number): Promise<Account | undefined> {
  const row = await db.selectFrom('person').selectAll().where('id', '=', id).executeTakeFirst()
  return row && accountOf(row)
}

interface NewAccount extends Rights {
  readonly name: string
  readonly password: string | null
  readonly by: string
  readonly at: string
}

export async function addAccount(
  db: PeopleWriter,
  { name, role, units, password, by, at }: NewAccount,
): Promise<number> {
  const { id } = await db
    .insertInto('person')
    .values({
      name: name.normalize('NFKC').trim(),
      name_key: nameKey(name),
      role,
      units: JSON.stringify(units),
      password,
      made_at: at,
      made_by: by,
      ended_at: null,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  return id
}

export async function setRights(db: PeopleWriter, id: number, { role, units }: Rights): Promise<void> {
  await db
    .updateTable('person')
    .set({ role, units: JSON.stringify(units) })
    .where('id', '=', id)
    .execute()
}

export async function setPassword(db: PeopleWriter, id: number, password: string): Promise<void> {
  await db.updateTable('person').set({ password, ended_at: null }).where('id', '=', id).execute()
}

/** Takes away what a person gets in by; the name stays taken. */
export async function endAccount(db: PeopleWriter, id: number, at: string): Promise<void> {
  await db.updateTable('person').set({ password: null, ended_at: at }).where('id', '=', id).execute()
}

/** Whether somebody else than this person can manage the house. */
export async function hasOtherManager(db: PeopleReader, id: number): Promise<boolean> {
  const row = await db
    .selectFrom('person')
    .select('id')
    .where('role', '=', 'manager')
    .where('password', 'is not', null)
    .where('ended_at', 'is', null)
    .where('id', '<>', id)
    .executeTakeFirst()
  return row !== undefined
}

export interface Link {
  readonly personId: number
  readonly tokenHash: string
  readonly at: string
  readonly endsAt: string
}

/** Keeps a one-time link of a person in the place of the last. */
export async function keepLink(db: PeopleWriter, { personId, tokenHash, at, endsAt }: Link): Promise<void> {
  const row = { token_hash: tokenHash, made_at: at, ends_at: endsAt }
  await db
    .insertInto('invitation')
    .values({ person_id: personId, ...row })
    .onConflict((on) => on.column('person_id').doUpdateSet(row))
    .execute()
}

/** Whom a link is for and until when, while it is good. now: stored instant. */
export async function findLink(
  db: PeopleReader,
  tokenHash: string,
  now: string,
): Promise<{ account: Account; until: string } | undefined> {
  const row = await db
    .selectFrom('invitation as i')
    .innerJoin('person as p', 'p.id', 'i.person_id')
    .selectAll('p')
    .select('i.ends_at')
    .where('i.token_hash', '=', tokenHash)
    .where('i.ends_at', '>', now)
    .executeTakeFirst()
  return row && { account: accountOf(row), until: row.ends_at }
}

/** Takes a link away; false where it was used or replaced meanwhile. */
export async function useLink(db: PeopleWriter, tokenHash: string): Promise<boolean> {
  const { numDeletedRows } = await db
    .deleteFrom('invitation')
    .where('token_hash', '=', tokenHash)
    .executeTakeFirstOrThrow()
  return numDeletedRows > 0n
}

export async function dropLinkOf(db: PeopleWriter, personId: number): Promise<void> {
  await db.deleteFrom('invitation').where('person_id', '=', personId).execute()
}

/** Until when each person has a link that is good. now: stored instant. */
export async function listLinks(db: PeopleReader, now: string): Promise<Map<number, string>> {
  const rows = await db.selectFrom('invitation').select(['person_id', 'ends_at']).where('ends_at', '>', now).execute()
  return new Map(rows.map((row) => [row.person_id, row.ends_at]))
}
