import type { CheckTrail } from '#core/findings/evidence/follow-checks.ts'
import type { LineLife } from '#core/findings/evidence/line-life.ts'
import { addDays } from '#core/fleet/instant.ts'
import type { TwoWeights } from '#core/line/compare.ts'
import { wanderCovariance, wanderOn } from '#core/line/track.ts'

const dayMs = 86_400_000

/**
 * Variance of the weight that the line in use reads at its limit, lb²: the track's own there, the square of what the
 * line lies off the track, and the scales' own errors.
 */
function limitVariance({ line, start, limitPsi }: LineLife, state: TwoWeights): number {
  const offTrack = start.atLimit - state.atLimit
  return (
    state.varLimit +
    offTrack * offTrack +
    line.scaleShifts.reduce((sum, { da, db }) => sum + (da + db * limitPsi) ** 2, 0)
  )
}

/** Variance that wandering adds to the weight at the limit in a day, lb². */
export const limitGrowth = ({ wander }: LineLife): number => wanderCovariance(wander, dayMs).varLimit

/** Standard uncertainty at the limit on a day, lb: that after the last check, wandered on since. */
export function limitUncertainty({ life, steps }: CheckTrail, asOf: number): number {
  const last = steps.at(-1)
  const state = wanderOn(
    last?.state ?? life.start,
    life.wander,
    asOf - (last?.check.at ?? life.line.calibration.calibratedAt),
  )
  return Math.sqrt(limitVariance(life, state))
}

/**
 * When the standard uncertainty at the limit passed what is allowed for the last time, ms; of a trail on which it has.
 */
export function overSince({ life, steps }: CheckTrail, allowedLb: number): number {
  const allowed = allowedLb * allowedLb
  const { calibratedAt } = life.line.calibration
  let since = Number.POSITIVE_INFINITY
  for (let place = steps.length - 1; place >= -1; place -= 1) {
    const step = steps[place]
    const at = step?.check.at ?? calibratedAt
    const variance = limitVariance(life, step?.state ?? life.start)
    // It passed, or will within the day, by wandering on from here, or by what the next check showed.
    if (variance <= allowed) return Math.min(since, addDays(at, (allowed - variance) / limitGrowth(life)))
    since = at
  }
  return calibratedAt
}
