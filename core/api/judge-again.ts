import { assessInThread } from '#core/exchange/bring-in.ts'
import { readAssessmentState, reassessUnits } from '#core/store/assessment.ts'
import type { Store } from '#core/store/open.ts'

/** More units than this are judged with the whole fleet, in a thread. */
const fewUnits = 100

/**
 * Judges the units that a change touched; the whole fleet where they are many, or the stored judgement is from before
 * the change.
 */
export async function judgeAgain(
  store: Store,
  unitIds: readonly number[],
  changedAt: number,
  now: number,
): Promise<void> {
  const state = await readAssessmentState(store.db)
  if (state === undefined) return
  if (unitIds.length > fewUnits || state.asOf < changedAt) await assessInThread(store.file, now)
  else if (unitIds.length > 0) await reassessUnits(store, unitIds)
}
