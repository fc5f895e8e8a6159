import { assessInThread } from '#core/exchange/bring-in.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { readAssessmentState } from '#core/store/assessment.ts'
import type { Store } from '#core/store/open.ts'

/** Judgements under way, by file: windows that ask at the same time wait for one and the same. */
const underWay = new Map<string, Promise<void>>()

function assessOnce(file: string, asOf: number): Promise<void> {
  const running = underWay.get(file)
  if (running) return running
  const started = assessInThread(file, asOf).finally(() => underWay.delete(file))
  underWay.set(file, started)
  return started
}

/**
 * When the stored assessment is of (ms UTC). One of an earlier day, or of a record that has changed since, is made anew
 * in a thread meanwhile, and the screens ask again once it is there; only a file that was never judged is waited for.
 */
export async function freshAssessment(
  { db, file }: Store,
  now: number,
  report: (error: unknown) => void,
): Promise<number> {
  const state = await readAssessmentState(db)
  if (state?.current === true && dayOf(state.asOf) === dayOf(now)) return state.asOf
  const assessing = assessOnce(file, now)
  if (state) {
    assessing.catch(report)
    return state.asOf
  }
  await assessing
  return now
}
