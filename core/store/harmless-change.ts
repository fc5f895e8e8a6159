import type { Writer } from '#core/store/open.ts'

/**
 * Counts a change of the record from which no judgement and no weight follows, such as a note: what was current stays so.
 */
export async function countHarmlessChange(db: Writer): Promise<void> {
  const { revision } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  await db.updateTable('ledger').set({ revision: revision + 1 }).execute()
  await db.updateTable('assessment').set({ revision: revision + 1 }).where('revision', '=', revision).execute()
  await db.updateTable('weighing_state').set({ revision: revision + 1 }).where('revision', '=', revision).execute()
}
