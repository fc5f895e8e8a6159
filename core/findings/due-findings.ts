import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import { knownToPassAt, limitUncertainty, passesAt } from '#core/evidence/limit-uncertainty.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import { coverageFactor, expanded } from '#core/words/coverage.ts'
import { type LocalDay, addDays, dayOf, daysBetween, endOfDay, startOfDay } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { dayMs } from '#core/words/instant.ts'

/** The day on which a line reaches the age that the House Rules allow, through which it is good. */
const oldestOn = ({ calibration }: CalibratedLine, { maximumAgeDays, zone }: HouseRules): LocalDay =>
  addDays(dayOf(calibration.calibratedAt, zone), maximumAgeDays)

/**
 * The day by which a line must be calibrated again: the first of the day of what broke it, the day on which it could be
 * known that its uncertainty at the limit passes the tolerance, and that of the House Rules' maximum age, which caps
 * both. It follows from the record alone: a line that has run out stays due on that day, and so becomes late; nobody is
 * late for what a check brought to light afterwards.
 */
export function dueOn({ life }: CheckTrail, { knownAt: passes }: LimitForecast, rules: HouseRules): LocalDay {
  const oldest = oldestOn(life.line, rules)
  const endsAt = Math.min(life.brokenAt ?? Number.POSITIVE_INFINITY, passes)
  return endsAt <= endOfDay(oldest, rules.zone) ? dayOf(endsAt, rules.zone) : oldest
}

/**
 * A line older than the House Rules allow, or about to be. Ages are in calendar days of the fleet: a line is good
 * through the whole day on which it reaches its allowed age.
 */
export function ageFindings(group: GroupFacts, line: CalibratedLine, { rules, asOf }: AssessmentContext): Finding[] {
  const { zone } = rules
  const { calibratedAt, calibrationId } = line.calibration
  const calibratedOn = dayOf(calibratedAt, zone)
  const today = dayOf(asOf, zone)
  const ageDays = daysBetween(calibratedOn, today)
  const lastDay = oldestOn(line, rules)
  const numbers = { age_days: ageDays, limit_days: rules.maximumAgeDays }
  if (today > lastDay) {
    return [
      groupFinding(
        group,
        'age-over-limit',
        'line',
        { calibratedAt, limitDays: rules.maximumAgeDays, endedOn: lastDay, ageDays },
        {
          since: endOfDay(lastDay, zone),
          restsOn: `${calibrationId}/${doublings(ageDays, rules.maximumAgeDays)}`,
          numbers,
        },
      ),
    ]
  }
  const noticeOn = addDays(lastDay, -rules.dueNoticeDays)
  if (today < noticeOn) return []
  return [
    groupFinding(
      group,
      'age-near-limit',
      'line',
      { calibratedAt, limitDays: rules.maximumAgeDays, endsOn: lastDay },
      {
        since: startOfDay(noticeOn, zone),
        restsOn: String(calibrationId),
        numbers: { ...numbers, days_left: daysBetween(today, lastDay) },
      },
    ),
  ]
}

/** How sure the weight at the limit is today and until when that is enough. */
export interface LimitForecast {
  /** Standard uncertainty of the weight at the limit on the day asked about, lb. */
  readonly uNowLb: number
  /** Largest standard uncertainty that the House Rules' tolerance allows, lb. */
  readonly allowedLb: number
  /** When it is exceeded, or was, ms; Infinity when it never will be. */
  readonly passesAt: number
  /** When that could be known, ms: by the weighings up to then. */
  readonly knownAt: number
  /** Whole days from the day asked about until then; 0 when it is already, Infinity when it never will be. */
  readonly daysLeft: number
}

/** How sure the weight at the limit is, and until when that is enough. asOf: ms UTC. */
export function forecastLimit(
  trail: CheckTrail,
  limitLb: number,
  { tolerancePercent }: HouseRules,
  asOf: number,
): LimitForecast {
  const allowedLb = ((tolerancePercent / 100) * limitLb) / coverageFactor
  const passes = passesAt(trail, allowedLb)
  return {
    uNowLb: limitUncertainty(trail, asOf),
    allowedLb,
    passesAt: passes,
    knownAt: knownToPassAt(trail, allowedLb, passes),
    daysLeft: Number.isFinite(passes) ? Math.max(0, Math.floor((passes - asOf) / dayMs)) : passes,
  }
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
  const { calibrationId } = trail.life.line.calibration
  const worse = doublings(forecast.uNowLb, forecast.allowedLb)
  const restsOn = `${calibrationId}/${trail.steps.length}/${worse}`
  if (forecast.daysLeft > 0) {
    const on = dayOf(forecast.passesAt, rules.zone)
    const noticeAt = startOfDay(addDays(on, -rules.dueNoticeDays), rules.zone)
    return [
      groupFinding(
        group,
        'uncertainty-over-tolerance',
        'soon',
        { ...facts, on },
        {
          severity: 'note',
          since: Math.min(asOf, Math.max(trail.life.line.calibration.calibratedAt, noticeAt)),
          restsOn,
          numbers,
        },
      ),
    ]
  }
  return [
    groupFinding(group, 'uncertainty-over-tolerance', 'now', facts, {
      since: Math.min(asOf, forecast.passesAt),
      restsOn,
      numbers,
    }),
  ]
}
