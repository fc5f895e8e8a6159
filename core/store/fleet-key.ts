import type { Kysely } from 'kysely'
import { randomUUID } from 'node:crypto'
import type { Schema } from '#core/store/schema.ts'

/**
 * What tells this fleet from every other, wherever it is published: a name that no other has, given once and kept in
 * the file. A copy of the file is the same fleet.
 */
export async function settleFleetKey(db: Kysely<Schema>): Promise<string> {
  await db
    .insertInto('house_setting')
    .values({ name: 'fleet', value: randomUUID() })
    .onConflict((conflict) => conflict.column('name').doNothing())
    .execute()
  const { value } = await db
    .selectFrom('house_setting')
    .select('value')
    .where('name', '=', 'fleet')
    .executeTakeFirstOrThrow()
  return value
}
