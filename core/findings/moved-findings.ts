import type { LineLife } from '#core/findings/evidence/line-life.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { day, lb } from '#core/findings/words.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { type LineDifference, compareLines, weightsAt } from '#core/line/compare.ts'
import { chiSquaredQuantile } from '#core/line/quantile.ts'
import { wanderCovariance } from '#core/line/track.ts'

/**
 * How far the later of two lines lies from the earlier at the earlier's empty and limit pressure, with the wander to be
 * expected between them: the as-found error of the recalibration.
 */
export function compareLives(earlier: LineLife, later: LineLife): LineDifference {
  const widened = (life: LineLife) => {
    const { line, fit } = life.line
    // The two may have been weighed on different scales: their known biases are taken off, their own errors counted.
    const gain = 1 - life.scaleGain
    return weightsAt({ ...line, a: fit.a * gain, b: fit.b * gain }, earlier.emptyPsi, earlier.limitPsi)
  }
  return compareLines(
    widened(earlier),
    widened(later),
    wanderCovariance(earlier.wander, later.line.calibration.calibratedAt - earlier.line.calibration.calibratedAt),
  )
}

/** The line in use against the one before it, unless recorded work between them explains a move. */
export function movedFindings(group: GroupFacts, earlier: LineLife, later: LineLife, rules: HouseRules): Finding[] {
  if (earlier.brokenAt !== null) return []
  const difference = compareLives(earlier, later)
  if (difference.chi2 <= chiSquaredQuantile(rules.movedConfidence / 100, 2)) return []
  const after = day(later.line.calibration.calibratedAt)
  const before = day(earlier.line.calibration.calibratedAt)
  const atLimit =
    Math.abs(difference.atLimitLb / difference.uLimitLb) >= Math.abs(difference.atEmptyLb / difference.uEmptyLb)
  const shift = atLimit ? difference.atLimitLb : difference.atEmptyLb
  const u = atLimit ? difference.uLimitLb : difference.uEmptyLb
  return [
    groupFinding(group, 'line-moved', {
      since: earlier.line.calibration.calibratedAt,
      numbers: {
        at_empty_lb: difference.atEmptyLb,
        u_empty_lb: difference.uEmptyLb,
        at_limit_lb: difference.atLimitLb,
        u_limit_lb: difference.uLimitLb,
        chi2: difference.chi2,
        calibrated_on: after,
        before_on: before,
      },
      message: `The calibration of ${after} reads ${lb(Math.abs(shift))} ${shift > 0 ? 'more' : 'less'} ${atLimit ? 'near the limit' : 'near empty'} than that of ${before}, ${Math.abs(shift / u).toFixed(1)} times what chance explains, and no work is on record between them.`,
      nextStep: 'Ask the shop what was done between the two; record it, or look at valve, ride height and sensor.',
    }),
  ]
}
