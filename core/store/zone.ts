import type Database from 'better-sqlite3'
import type { Kysely } from 'kysely'
import { machineZone } from '#core/store/clock.ts'
import type { Schema } from '#core/store/schema.ts'

/** Gives a fleet that counts its days in no zone yet this one. */
export async function settleZone(db: Kysely<Schema>, zone: string): Promise<void> {
  await db
    .insertInto('house_setting')
    .values({ name: 'zone', value: zone })
    .onConflict((conflict) => conflict.column('name').doNothing())
    .execute()
}

/** The zone in which the fleet counts its days: every file has one from the step that brought it. */
export async function readZone(db: Pick<Kysely<Schema>, 'selectFrom'>): Promise<string> {
  const { value } = await db
    .selectFrom('house_setting')
    .select('value')
    .where('name', '=', 'zone')
    .executeTakeFirstOrThrow()
  return value
}

/** The same of a file that may be of an earlier step and have none: then it is this machine's. */
export function zoneOf(raw: Database.Database): string {
  const hasSettings = raw.prepare("select 1 from sqlite_schema where name = 'house_setting'").get() !== undefined
  const zone = hasSettings
    ? raw.prepare("select value from house_setting where name = 'zone'").pluck().get()
    : undefined
  return typeof zone === 'string' ? zone : machineZone()
}
