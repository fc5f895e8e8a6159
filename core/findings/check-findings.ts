import type { CheckStep, CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupFacts, GroupHistory } from '#core/evidence/history.ts'
import { changeKnownAt } from '#core/evidence/known-change.ts'
import type { SinceWhen } from '#core/evidence/state/best-weight.ts'
import { type ChangeKind, type LineNoise, changeKinds } from '#core/evidence/state/series.ts'
import { suspectedAt } from '#core/evidence/state/troubles.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { standardNormalCdf, standardNormalQuantile } from '#core/line/statistics.ts'
import { monthMs } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** From this probability on of belonging to no line a weighing is told of, though later ones have answered it. */
const wildAt = 0.5
const wildness = ({ opinion }: CheckStep): number => opinion.wild + opinion.slip

/**
 * Whether a check belongs to no line, as far as the rest of the record tells, and no slip is sure enough to be named.
 */
export const isWild = (step: CheckStep): boolean => step.slip === null && wildness(step) >= wildAt

const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length

/** Slope of misses over time by least squares, lb a month; 0 for fewer than four. */
function trend(steps: readonly CheckStep[]): number {
  if (steps.length < 4) return 0
  const times = steps.map(({ check }) => check.at / monthMs)
  const middle = mean(times)
  const level = mean(steps.map(({ offLineLb }) => offLineLb))
  let across = 0
  let spread = 0
  for (const [i, { offLineLb }] of steps.entries()) {
    const time = (times[i] as number) - middle
    across += time * (offLineLb - level)
    spread += time * time
  }
  return spread === 0 ? 0 : across / spread
}

/** The kind of change that is most probable. */
export const likelyKind = (since: SinceWhen): ChangeKind =>
  changeKinds.reduce((best, kind) => (since[kind] > since[best] ? kind : best))

/** A kind is named where it has so much of the probability of any; else the weighings tell a change, and not which. */
const clearShare = 0.8
const clearKind = (since: SinceWhen): ChangeKind | null => {
  const kind = likelyKind(since)
  return since[kind] >= clearShare * since.probability ? kind : null
}

/** When a change began, as named figures. */
export const sinceNumbers = (since: SinceWhen) => ({
  kind: likelyKind(since),
  probability: since.probability,
  since_likely: toStoredInstant(since.at),
  since_from: toStoredInstant(since.from),
  since_until: toStoredInstant(since.until),
})

function drifting(group: GroupHistory, trail: CheckTrail): Finding[] {
  const { steps, life, change, alarmFrom } = trail
  if (change === null || alarmFrom === null) return []
  const run = steps.slice(alarmFrom).filter(({ slip }) => slip === null)
  if (run.length === 0) return []
  const recent = mean(run.slice(-3).map(({ offLineLb }) => offLineLb))
  const side = recent > 0 ? 'high' : 'low'
  const { at, from, until } = change
  return [
    groupFinding(
      group,
      'checks-drifting',
      'change',
      {
        at,
        from,
        until,
        knownAt: changeKnownAt(trail, at),
        kind: clearKind(change),
        missLb: recent,
        checks: Math.min(3, run.length),
        lift: life.lift,
      },
      {
        since: at,
        // Work on record since gives the change another meaning.
        restsOn: `${life.line.calibration.calibrationId}/${side}/${run.length}/${group.events.length}`,
        numbers: {
          checks: run.length,
          recent_miss_lb: recent,
          recent_miss_psi: -recent / life.line.fit.b,
          trend_lb_per_month: trend(run),
          cusum: Math.max(...run.map(({ cusum }) => cusum[side])),
          cusum_side: side,
          ...sinceNumbers(change),
        },
      },
    ),
  ]
}

/** In how many of a hundred checks noise alone, tails and all, would miss by so much; a bound, at least 1. */
function chancePercent({ innovation: { z, uMissLb }, check }: CheckStep, { tailShare, tailScale }: LineNoise): number {
  const leveling = check.varLb2 - check.varOtherLb2
  const inTail = Math.sqrt(1 + ((tailScale * tailScale - 1) * leveling) / (uMissLb * uMissLb))
  const beyond = (sd: number) => 2 * standardNormalCdf(-Math.abs(z) / sd)
  return Math.ceil(100 * ((1 - tailShare) * beyond(1) + tailShare * beyond(inTail)))
}

function missFinding(
  group: GroupFacts,
  step: CheckStep,
  noise: LineNoise,
  probability: number,
  answered: boolean,
): Finding {
  const { check, innovation } = step
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
      probability,
    },
  }
  return answered
    ? groupFinding(group, 'check-missed', 'answered', facts, told)
    : groupFinding(group, 'check-missed', 'open', { ...facts, chancePercent: chancePercent(step, noise) }, told)
}

/** The last step that the check-missed of a suspected line speaks of: the one that misses most since it is. */
const worstOf = (steps: readonly CheckStep[]): CheckStep | undefined =>
  steps.reduce<CheckStep | undefined>(
    (worst, step) =>
      step.slip === null && Math.abs(step.innovation.z) > Math.abs(worst?.innovation.z ?? 0) ? step : worst,
    undefined,
  )

/** What the check weighings say about a line in use: a lasting change, or a single miss that nothing explains. */
export function checkFindings(group: GroupHistory, trail: CheckTrail, { missConfidence }: HouseRules): Finding[] {
  const { standing, steps, physical, alarmFrom, suspicion, change } = trail
  if (physical === undefined) return []
  const told = (finding: Finding): Finding => ({
    ...finding,
    numbers: { ...finding.numbers, confidence_percent: missConfidence },
  })
  if (standing === 'moved') return drifting(group, trail)
  if (standing === 'suspected') {
    const worst = worstOf(steps.slice(alarmFrom ?? 0))
    const band = standardNormalQuantile(0.5 + missConfidence / 200)
    // Several that lie off together tell, though none of them alone leaves the band.
    const together = change !== null && change.probability >= suspectedAt && change.weighingsSince > 1
    return worst !== undefined && (together || Math.abs(worst.innovation.z) > band)
      ? [told(missFinding(group, worst, physical.noise, suspicion, false))]
      : []
  }
  // One sentence is enough: the newest that was answered.
  const wild = steps.findLast(isWild)
  return wild === undefined ? [] : [told(missFinding(group, wild, physical.noise, wildness(wild), true))]
}
