import { type CheckTrail, offBest } from '#core/evidence/follow-checks.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { seriesUpTo } from '#core/evidence/state/series.ts'
import { laterBy } from '#core/words/instant.ts'

/**
 * Variance about the truth of the weight that a line in use reads at its limit at a time, lb²: that of the best weight
 * there, wandered on, and the square of what the line lies off it.
 */
function limitVariance(trail: CheckTrail, at: number): number {
  const { offLb, u } = offBest(trail, trail.life.limitPsi, at)
  return u * u + offLb * offLb
}

/** Standard uncertainty of what the line reads at its limit at a time, lb. */
export const limitUncertainty = (trail: CheckTrail, at: number): number => Math.sqrt(limitVariance(trail, at))

/** Farther ahead no drift is followed, days; a line is too old long before. */
const farthestDays = 7300

const drifts = ({ physical }: CheckTrail): boolean =>
  physical?.state.stories.some(({ changes }) => changes.some(({ kind }) => kind === 'drift')) ?? false

/** When the variance at the limit passes what is allowed, from a time on at which it does not. */
function passesAfter(trail: CheckTrail, at: number, allowedLb2: number): number {
  const now = limitVariance(trail, at)
  const atEnd = limitVariance(trail, laterBy(at, farthestDays))
  // Wandering alone adds the same every day; a drift adds more and more.
  const never = drifts(trail) ? atEnd <= allowedLb2 : atEnd <= now
  if (never) return Number.POSITIVE_INFINITY
  if (!drifts(trail)) return laterBy(at, (farthestDays * (allowedLb2 - now)) / (atEnd - now))
  let [low, high] = [0, farthestDays]
  while (high - low > 0.01) {
    const middle = (low + high) / 2
    if (limitVariance(trail, laterBy(at, middle)) > allowedLb2) high = middle
    else low = middle
  }
  return laterBy(at, low)
}

/**
 * When the standard uncertainty at the limit passes what is allowed (lb) for good, ms: the day on which it did, by
 * wandering on or by what a check showed, or the one on which it will; Infinity where it never does. It follows from
 * the record alone, so the day asked about does not move it.
 */
export function passesAt(trail: CheckTrail, allowedLb: number): number {
  const allowed = allowedLb * allowedLb
  const { calibratedAt } = trail.life.line.calibration
  const times = [calibratedAt, ...trail.steps.map(({ check }) => Math.max(calibratedAt, check.at))]
  let since = Number.POSITIVE_INFINITY
  for (const at of times.toReversed()) {
    if (limitVariance(trail, at) <= allowed)
      return since === Number.POSITIVE_INFINITY ? passesAfter(trail, at, allowed) : since
    since = at
  }
  return calibratedAt
}

/** A line as it was known at a time, ms: by the weighings up to then. */
export function knownAt(trail: CheckTrail, at: number): CheckTrail {
  const { physical } = trail
  if (physical === undefined) return trail
  const { series, noise, state } = physical
  return { ...trail, physical: { ...physical, state: lineState(seriesUpTo(series, at), noise, state.columns.priors) } }
}

/**
 * When it could be known that the uncertainty at the limit passes what is allowed (lb), ms: a change that a later check
 * brought to light made the line wrong before anybody could know. passes: `passesAt`, with all that is known now.
 */
export function knownToPassAt(trail: CheckTrail, allowedLb: number, passes: number): number {
  const allowed = allowedLb * allowedLb
  const times = trail.steps.map(({ check }) => check.at).filter((at) => at >= passes)
  const isKnown = (at: number) => limitVariance(knownAt(trail, at), at) > allowed
  const [first] = times
  if (trail.physical === undefined || first === undefined || isKnown(first)) return first ?? passes
  let [before, since] = [0, times.length - 1]
  while (since - before > 1) {
    const middle = (before + since) >> 1
    if (isKnown(times[middle] as number)) since = middle
    else before = middle
  }
  // As it was known before, it may have passed by wandering on.
  const seen = times[before] as number
  return Math.min(times[since] as number, passesAfter(knownAt(trail, seen), seen, allowed))
}
