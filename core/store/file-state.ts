import type { Reader } from '#core/store/open.ts'

/** How many units the file holds, and its revision, which counts committed changes. */
export async function readFileState(db: Reader): Promise<{ units: number; revision: number }> {
  const { units } = await db.selectFrom('unit').select((e) => e.fn.countAll<number>().as('units')).executeTakeFirstOrThrow()
  const { revision } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  return { units, revision }
}
