import type { AssessmentContext } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { count, day } from '#core/findings/words.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import { addDays, daysBetween } from '#core/fleet/instant.ts'
import type { CalibratedLine } from '#core/line/calibrate.ts'

/** A line older than the House Rules allow, or about to be. */
export function ageFindings(group: GroupFacts, line: CalibratedLine, { rules, asOf }: AssessmentContext): Finding[] {
  const { calibratedAt } = line.calibration
  const ageDays = daysBetween(calibratedAt, asOf)
  const endsAt = addDays(calibratedAt, rules.maximumAgeDays)
  const numbers = { age_days: ageDays, limit_days: rules.maximumAgeDays }
  if (asOf > endsAt) {
    return [
      groupFinding(group, 'age-over-limit', {
        since: endsAt,
        numbers,
        message: `The line of ${day(calibratedAt)} passed its allowed age of ${count(rules.maximumAgeDays, 'day')} on ${day(endsAt)}; it is ${count(ageDays, 'day')} old.`,
        nextStep: 'Weigh empty and loaded with readings, and calibrate again.',
      }),
    ]
  }
  const noticeAt = addDays(endsAt, -rules.dueNoticeDays)
  if (asOf < noticeAt) return []
  return [
    groupFinding(group, 'age-near-limit', {
      since: noticeAt,
      numbers: { ...numbers, days_left: daysBetween(asOf, endsAt) },
      message: `The line of ${day(calibratedAt)} reaches its allowed age of ${count(rules.maximumAgeDays, 'day')} on ${day(endsAt)}.`,
      nextStep: `Plan a calibration before ${day(endsAt)}.`,
    }),
  ]
}
