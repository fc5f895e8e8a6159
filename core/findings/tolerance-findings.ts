import type { AssessmentContext } from '#core/findings/assessment.ts'
import type { CheckTrail } from '#core/findings/evidence/follow-checks.ts'
import { overSince } from '#core/findings/evidence/limit-uncertainty.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { day, lb, percent } from '#core/findings/words.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import { addDays } from '#core/fleet/instant.ts'

/** How sure the weight at the limit is today and until when that is enough. */
export interface LimitForecast {
  /** Standard uncertainty of the weight at the limit on the day asked about, lb. */
  readonly uNowLb: number
  /** Variance that wandering adds a day, lb². */
  readonly growthLb2PerDay: number
  /** Largest standard uncertainty that the House Rules' tolerance allows, lb. */
  readonly allowedLb: number
  /** Whole days from the day asked about until it is exceeded; 0 when it is already, Infinity when it never will be. */
  readonly daysLeft: number
}

const coverage = 1.959963984540054

/** Until when the weight at the limit stays within tolerance: u² grows by the wander's variance a day. */
export function forecastLimit(
  uNowLb: number,
  growthLb2PerDay: number,
  limitLb: number,
  tolerancePercent: number,
): LimitForecast {
  const allowedLb = ((tolerancePercent / 100) * limitLb) / coverage
  const room = allowedLb * allowedLb - uNowLb * uNowLb
  const daysLeft = room <= 0 ? 0 : growthLb2PerDay > 0 ? Math.floor(room / growthLb2PerDay) : Number.POSITIVE_INFINITY
  return { uNowLb, growthLb2PerDay, allowedLb, daysLeft }
}

/** A weight at the limit that is no longer sure enough, or soon will not be. */
export function toleranceFindings(
  group: GroupFacts,
  forecast: LimitForecast,
  trail: CheckTrail,
  limitLb: number,
  { rules, asOf }: AssessmentContext,
): Finding[] {
  if (forecast.daysLeft > rules.dueNoticeDays) return []
  const numbers = {
    u_limit_lb: forecast.uNowLb,
    expanded_lb: coverage * forecast.uNowLb,
    tolerance_lb: coverage * forecast.allowedLb,
    days_left: forecast.daysLeft,
  }
  const tolerance = `${lb(coverage * forecast.allowedLb)} (${percent(rules.tolerancePercent)} of the limit)`
  if (forecast.daysLeft > 0) {
    const on = day(addDays(asOf, forecast.daysLeft))
    return [
      groupFinding(group, 'uncertainty-over-tolerance', {
        severity: 'note',
        since: Math.max(
          trail.life.line.calibration.calibratedAt,
          addDays(asOf, forecast.daysLeft - rules.dueNoticeDays),
        ),
        numbers,
        message: `A weight near the ${lb(limitLb)} limit is good to ± ${lb(coverage * forecast.uNowLb)} today and will pass the tolerance of ${tolerance} about ${on}.`,
        nextStep: `Plan a calibration, or a check weighing near the limit, before ${on}.`,
      }),
    ]
  }
  return [
    groupFinding(group, 'uncertainty-over-tolerance', {
      since: Math.min(asOf, overSince(trail, forecast.allowedLb)),
      numbers,
      message: `A weight near the ${lb(limitLb)} limit is only good to ± ${lb(coverage * forecast.uNowLb)}; the tolerance is ${tolerance}.`,
      nextStep: 'Weigh near the limit with a reading, and calibrate with more points.',
    }),
  ]
}
