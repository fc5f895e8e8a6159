import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import { type CheckTrail, overSince } from '#core/evidence/follow-checks.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { count, lb, percent } from '#core/findings/words.ts'
import { addDays, dayOf, daysBetween, endOfDay, startOfDay } from '#core/words/day.ts'

/**
 * A line older than the House Rules allow, or about to be. Ages are in calendar days of the fleet: a line is good
 * through the whole day on which it reaches its allowed age.
 */
export function ageFindings(group: GroupFacts, line: CalibratedLine, { rules, asOf }: AssessmentContext): Finding[] {
  const { zone } = rules
  const calibratedOn = dayOf(line.calibration.calibratedAt, zone)
  const today = dayOf(asOf, zone)
  const ageDays = daysBetween(calibratedOn, today)
  const dueOn = addDays(calibratedOn, rules.maximumAgeDays)
  const numbers = { age_days: ageDays, limit_days: rules.maximumAgeDays }
  if (today > dueOn) {
    return [
      groupFinding(group, 'age-over-limit', {
        since: endOfDay(dueOn, zone),
        numbers,
        message: `The line of ${calibratedOn} passed its allowed age of ${count(rules.maximumAgeDays, 'day')} on ${dueOn}; it is ${count(ageDays, 'day')} old.`,
        nextStep: 'Weigh empty and loaded with readings, and calibrate again.',
      }),
    ]
  }
  const noticeOn = addDays(dueOn, -rules.dueNoticeDays)
  if (today < noticeOn) return []
  return [
    groupFinding(group, 'age-near-limit', {
      since: startOfDay(noticeOn, zone),
      numbers: { ...numbers, days_left: daysBetween(today, dueOn) },
      message: `The line of ${calibratedOn} reaches its allowed age of ${count(rules.maximumAgeDays, 'day')} on ${dueOn}.`,
      nextStep: `Plan a calibration before ${dueOn}.`,
    }),
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
    const on = addDays(dayOf(asOf, rules.zone), forecast.daysLeft)
    return [
      groupFinding(group, 'uncertainty-over-tolerance', {
        severity: 'note',
        since: Math.max(
          trail.life.line.calibration.calibratedAt,
          startOfDay(addDays(on, -rules.dueNoticeDays), rules.zone),
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
