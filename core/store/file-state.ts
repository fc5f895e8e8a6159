import type { Reader } from '#core/store/open.ts'

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
