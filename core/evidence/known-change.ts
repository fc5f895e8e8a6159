import { type CheckTrail, lastPointAt, lastingChange } from '#core/evidence/follow-checks.ts'
import { knownAt } from '#core/evidence/limit-uncertainty.ts'
import { at } from '#core/words/lists.ts'

/**
 * When it could be known that a line had changed, ms: at the first check by which the weighings up to then establish
 * it. The change itself lies before, and nobody is late for what only a later check brought to light. changedAt: when
 * it most likely changed, by all that is known now.
 */
export function changeKnownAt(trail: CheckTrail, changedAt: number): number {
  const { life } = trail
  const times = trail.steps.map(({ check }) => check.at).filter((each) => each > changedAt)
  const window = { after: lastPointAt(life), until: life.endedAt }
  const isKnown = (time: number): boolean => {
    const { physical } = knownAt(trail, time)
    return physical !== undefined && (lastingChange(life, physical, window, time)?.established ?? false)
  }
  // Once established it stays so, as a change that goes back is told no more: halving finds the first.
  let [low, high] = [0, times.length - 1]
  while (low < high) {
    const middle = (low + high) >> 1
    if (isKnown(at(times, middle))) high = middle
    else low = middle + 1
  }
  return times[low] ?? changedAt
}
