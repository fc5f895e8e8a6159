import { lineBreaks } from '#core/findings/break-findings.ts'
import { referencePressures } from '#core/findings/evidence/line-life.ts'
import type { GroupHistory } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { CalibratedLine, ScaleLookup } from '#core/line/calibrate.ts'
import { readState, shareOf, wanderCovariance } from '#core/line/track.ts'
import { groupLimitLb } from '#core/weight/group-limit.ts'
import { type PreparedGroup, prepareGroup } from '#core/weight/weigh.ts'
import type { WanderVariance } from '#core/weight/weighing-line.ts'

const dayMs = 86_400_000

/** What the fleet has learnt about its pressures: leveling repeatability in psi, wander in psi per root month. */
export interface PressureNoise {
  readonly levelingPsi: number
  readonly wanderPsi: number
}

/**
 * What a line may have wandered by, lb²: the track's random walk of the weights at the empty and the limit pressure,
 * read at a pressure as the track reads it (`wanderCovariance`, `readState`).
 */
function wanderOf(line: CalibratedLine, limitLb: number, wanderPsi: number): WanderVariance {
  const wander = { psiPerRootMonth: wanderPsi, slopeLbPerPsi: line.fit.b }
  const { emptyPsi, limitPsi } = referencePressures(line, limitLb)
  return (psi, days) =>
    readState({ atEmpty: 0, atLimit: 0, ...wanderCovariance(wander, days * dayMs) }, shareOf(psi, emptyPsi, limitPsi))
      .variance
}

/** Readies a group to weigh with everything its history holds: its lines, what ended them, the fleet's noise. */
export function readyGroup(
  history: GroupHistory,
  { levelingPsi, wanderPsi }: PressureNoise,
  scaleOf: ScaleLookup,
  rules: HouseRules,
): PreparedGroup {
  const limitLb = groupLimitLb(history, rules)
  return prepareGroup(history, {
    rules,
    scaleOf,
    levelingPsi,
    ends: lineBreaks(history, Number.NEGATIVE_INFINITY),
    wanderOf: (line) => wanderOf(line, limitLb, wanderPsi),
  })
}
