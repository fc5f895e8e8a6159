import type { Reader, Store } from '#core/store/open.ts'

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
