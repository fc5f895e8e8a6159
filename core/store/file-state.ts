import type { Reader, Store } from '#core/store/open.ts'

/**
 * How many units the file holds, its revision, which counts committed changes, and when it was last assessed (stored
 * instant).
 */
export async function readFileState(
  db: Reader,
): Promise<{ units: number; revision: number; assessedAt: string | null }> {
  const { units } = await db
    .selectFrom('unit')
    .select((e) => e.fn.countAll<number>().as('units'))
    .executeTakeFirstOrThrow()
  const { revision } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  const assessment = await db.selectFrom('assessment').select('as_of').executeTakeFirst()
  return { units, revision, assessedAt: assessment?.as_of ?? null }
}

/** What lies on the desk under a name, or null. */
export async function readDesk(db: Reader, name: string): Promise<string | null> {
  return (await db.selectFrom('desk').select('text').where('name', '=', name).executeTakeFirst())?.text ?? null
}

/** Leaves a text on the desk in place of what lay there; null takes it away. It is no change of the record. */
export async function leaveOnDesk({ db }: Store, name: string, text: string | null, at: string): Promise<void> {
  if (text === null) await db.deleteFrom('desk').where('name', '=', name).execute()
  else
    await db
      .insertInto('desk')
      .values({ name, text, left_at: at })
      .onConflict((conflict) => conflict.column('name').doUpdateSet({ text, left_at: at }))
      .execute()
}
