import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import { type CheckTrail, overSince } from '#core/evidence/follow-checks.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { coverageFactor, expanded } from '#core/words/coverage.ts'
import { addDays, daysBetween } from '#core/words/instant.ts'

/** A line older than the House Rules allow, or about to be. */
export function ageFindings(group: GroupFacts, line: CalibratedLine, { rules, asOf }: AssessmentContext): Finding[] {
  const { calibratedAt } = line.calibration
  const ageDays = daysBetween(calibratedAt, asOf)
  const endsAt = addDays(calibratedAt, rules.maximumAgeDays)
  const numbers = { age_days: ageDays, limit_days: rules.maximumAgeDays }
  if (asOf > endsAt) {
    return [
      groupFinding(
        group,
        'age-over-limit',
        'line',
        { calibratedAt, limitDays: rules.maximumAgeDays, endedAt: endsAt, ageDays },
        { since: endsAt, numbers },
      ),
    ]
  }
  const noticeAt = addDays(endsAt, -rules.dueNoticeDays)
  if (asOf < noticeAt) return []
  return [
    groupFinding(
      group,
      'age-near-limit',
      'line',
      { calibratedAt, limitDays: rules.maximumAgeDays, endsAt },
      { since: noticeAt, numbers: { ...numbers, days_left: daysBetween(asOf, endsAt) } },
    ),
  ]
}

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

/** Until when the weight at the limit stays within tolerance: u² grows by the wander's variance a day. */
export function forecastLimit(
  uNowLb: number,
  growthLb2PerDay: number,
  limitLb: number,
  tolerancePercent: number,
): LimitForecast {
  const allowedLb = ((tolerancePercent / 100) * limitLb) / coverageFactor
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
  const toleranceLb = expanded(forecast.allowedLb)
  const numbers = {
    u_limit_lb: forecast.uNowLb,
    expanded_lb: expanded(forecast.uNowLb),
    tolerance_lb: toleranceLb,
    days_left: forecast.daysLeft,
  }
  const facts = { limitLb, uLb: forecast.uNowLb, toleranceLb, tolerancePercent: rules.tolerancePercent }
  if (forecast.daysLeft > 0) {
    return [
      groupFinding(
        group,
        'uncertainty-over-tolerance',
        'soon',
        { ...facts, on: addDays(asOf, forecast.daysLeft) },
        {
          severity: 'note',
          since: Math.max(
            trail.life.line.calibration.calibratedAt,
            addDays(asOf, forecast.daysLeft - rules.dueNoticeDays),
          ),
          numbers,
        },
      ),
    ]
  }
  return [
    groupFinding(group, 'uncertainty-over-tolerance', 'now', facts, {
      since: Math.min(asOf, overSince(trail, forecast.allowedLb)),
      numbers,
    }),
  ]
}
