import { ageFindings } from '#core/findings/age-findings.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import { breakFindings } from '#core/findings/break-findings.ts'
import type { Finding, FindingCode, Trust } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { lineFindings } from '#core/findings/line-findings.ts'
import type { GroupHistory } from '#core/fleet/history.ts'
import { addDays, dayOf, daysBetween } from '#core/fleet/instant.ts'
import { type CalibratedLine, calibrateGroup } from '#core/line/calibrate.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { groupLimitLb } from '#core/weight/group-limit.ts'

/** The trust that a finding takes the group down to; the rest are notes about the line, not reasons to distrust it. */
const trustOf: Partial<Record<FindingCode, Trust>> = {
  'no-calibration': 'uncalibrated',
  'event-since-calibration': 'upset',
  'points-disagree': 'doubtful',
  'age-over-limit': 'overdue',
  'age-near-limit': 'due soon',
}
const worstFirst: readonly Trust[] = ['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon']

function trustFrom(findings: readonly Finding[]): Trust {
  const told = new Set(findings.map(({ code }) => trustOf[code]))
  return worstFirst.find((trust) => told.has(trust)) ?? 'sound'
}

/** The newest calibration that makes a line, and why newer ones do not. */
function currentLine(history: GroupHistory, { scales, rules }: AssessmentContext): { current: CalibratedLine | null; refusal: string | null } {
  let refusal: string | null = null
  for (let i = history.calibrations.length - 1; i >= 0; i -= 1) {
    const calibration = history.calibrations[i] as GroupHistory['calibrations'][number]
    const line = calibrateGroup(history, calibration, (id) => scales.get(id), rules)
    if (line.ok) return { current: line.value, refusal }
    refusal ??= line.problem.message
  }
  return { current: null, refusal }
}

function noCalibration(history: GroupHistory, refusal: string | null): Finding {
  const message = history.calibrations.length === 0
    ? 'This group has a sensor but no calibration: its pressures cannot be turned into weights.'
    : `None of its calibrations makes a line: ${refusal ?? ''}`
  return groupFinding(history, 'no-calibration', {
    since: history.circuits.flatMap(({ mounts }) => mounts.map(({ mountedAt }) => mountedAt)).sort((a, b) => a - b)[0] ?? null,
    numbers: { calibrations: history.calibrations.length },
    message,
    nextStep: 'Weigh the unit empty and loaded, note the pressures each time, and calibrate.',
  })
}

/** Judges one sensed group on a day from its history alone. */
export function assessGroup(history: GroupHistory, context: AssessmentContext): GroupAssessment {
  const limitLb = groupLimitLb(history)
  const { current, refusal } = currentLine(history, context)
  if (!current) {
    return { history, trust: 'uncalibrated', current: null, limitLb, ageDays: null, dueOn: null, uLimitLb: null, findings: [noCalibration(history, refusal)] }
  }
  const { calibratedAt } = current.calibration
  const findings = [
    ...breakFindings(history, calibratedAt),
    ...lineFindings(history, current, limitLb, context),
    ...ageFindings(history, current, context),
  ]
  const brokenAt = findings.find(({ code }) => code === 'event-since-calibration')?.since
  return {
    history, current, limitLb, findings,
    trust: trustFrom(findings),
    ageDays: daysBetween(calibratedAt, context.asOf),
    dueOn: dayOf(brokenAt ?? addDays(calibratedAt, context.rules.maximumAgeDays)),
    uLimitLb: predictWeight(current.line, pressureAtWeight(current.line, limitLb).value).u,
  }
}
