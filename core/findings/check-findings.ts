import { type CheckStep, type CheckTrail, missOfLine } from '#core/evidence/follow-checks.ts'
import type { GroupFacts, GroupHistory } from '#core/evidence/history.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { monthMs } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** A miss that a later check has answered by agreeing with the line is history, unless it was this wild. */
const wildZ = 4.5
const answeredZ = 2

const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length

/** Slope of misses over time by least squares, lb a month; 0 for fewer than four. */
function trend(steps: readonly CheckStep[], misses: readonly number[]): number {
  if (steps.length < 4) return 0
  const times = steps.map(({ check }) => check.at / monthMs)
  const middle = mean(times)
  const level = mean(misses)
  const spread = times.reduce((sum, time) => sum + (time - middle) ** 2, 0)
  return spread === 0
    ? 0
    : times.reduce((sum, time, i) => sum + (time - middle) * ((misses[i] ?? level) - level), 0) / spread
}

function drifting(group: GroupHistory, { steps, life, alarm }: CheckTrail): Finding[] {
  if (!alarm) return []
  const run = steps.slice(alarm.from).filter(({ slip }) => slip === null)
  const [first] = run
  if (!first) return []
  const misses = run.map(({ check }) => missOfLine(life, check).missLb)
  const recent = mean(misses.slice(-3))
  const pressure = -recent / life.line.fit.b
  const monthly = trend(run, misses)
  return [
    groupFinding(
      group,
      'checks-drifting',
      'shift',
      { from: first.check.at, missLb: recent, checks: Math.min(3, run.length), lift: life.lift },
      {
        since: first.check.at,
        // Work on record since gives the drift another meaning.
        restsOn: `${life.line.calibration.calibrationId}/${alarm.side}/${run.length}/${group.events.length}`,
        numbers: {
          checks: run.length,
          recent_miss_lb: recent,
          recent_miss_psi: pressure,
          trend_lb_per_month: monthly,
          cusum: Math.max(...run.map(({ cusum }) => cusum[alarm.side])),
          cusum_side: alarm.side,
        },
      },
    ),
  ]
}

function missFinding(group: GroupFacts, step: CheckStep, answered: boolean, rules: HouseRules): Finding {
  const { check, innovation } = step
  const { missConfidence } = rules
  const facts = {
    at: check.at,
    weightLb: check.observation.weightLb,
    missLb: innovation.missLb,
    psi: check.psi,
  }
  const told = {
    severity: answered ? ('note' as const) : ('warn' as const),
    since: check.at,
    restsOn: `${check.observation.readingId}/${check.psi.toFixed(1)}/${check.observation.weightLb}`,
    ticketId: check.observation.ticketId,
    scaleId: check.observation.scaleId,
    numbers: {
      miss_lb: innovation.missLb,
      u_miss_lb: innovation.uMissLb,
      z: innovation.z,
      psi: check.psi,
      weight_lb: check.observation.weightLb,
      confidence_percent: missConfidence,
    },
  }
  return answered
    ? groupFinding(group, 'check-missed', 'answered', facts, told)
    : groupFinding(group, 'check-missed', 'open', { ...facts, chancePercent: Math.ceil(100 - missConfidence) }, told)
}

/** What the check weighings say about a line in use: a lasting shift, or a single miss that nothing explains. */
export function checkFindings(group: GroupHistory, trail: CheckTrail, rules: HouseRules): Finding[] {
  const lasting = drifting(group, trail)
  if (lasting.length > 0) return lasting
  const open = trail.steps.filter(({ missed, slip }) => missed && slip === null)
  const findings: Finding[] = []
  for (const step of open) {
    const later = trail.steps.slice(trail.steps.indexOf(step) + 1).filter(({ slip }) => slip === null)
    const answered = later.some((other) => Math.abs(missOfLine(trail.life, other.check).z) <= answeredZ)
    if (!answered || Math.abs(step.innovation.z) > wildZ) findings.push(missFinding(group, step, answered, rules))
  }
  // One sentence is enough: the newest miss that still stands, otherwise the newest that was answered.
  const newest = findings.findLast(({ severity }) => severity === 'warn') ?? findings.at(-1)
  return newest ? [newest] : []
}
