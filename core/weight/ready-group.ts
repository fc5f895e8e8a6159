import { lineBreaks } from '#core/findings/break-findings.ts'
import { referencePressures } from '#core/findings/evidence/line-life.ts'
import type { GroupHistory } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { ScaleLookup } from '#core/line/calibrate.ts'
import { readState, shareOf, wanderCovariance } from '#core/line/track.ts'
import { groupLimitLb } from '#core/weight/group-limit.ts'
import { type PreparedGroup, prepareGroup } from '#core/weight/weigh.ts'
import type { WanderVariance, WeighingLine } from '#core/weight/weighing-line.ts'

const dayMs = 86_400_000

/** What the fleet has learnt about its pressures: leveling repeatability in psi, wander in psi per root month. */
export interface PressureNoise {
  readonly levelingPsi: number
  readonly wanderPsi: number
}

/**
 * What a line may have wandered by, lb²: the track's random walk of the weights at the empty and the limit pressure, read at
 * a pressure as the track reads it (`wanderCovariance`, `readState`).
 */
function wanderOf({ calibrated }: WeighingLine, limitLb: number, wanderPsi: number): WanderVariance {
  const wander = { psiPerRootMonth: wanderPsi, slopeLbPerPsi: calibrated.fit.b }
  const { emptyPsi, limitPsi } = referencePressures(calibrated, limitLb)
  return (psi, days) => readState({ atEmpty: 0, atLimit: 0, ...wanderCovariance(wander, days * dayMs) }, shareOf(psi, emptyPsi, limitPsi)).variance
}

/**
 * Readies a group to weigh with everything its history holds: its lines, what ended them, the fleet's noise. The lines of one
 * group differ by about a percent in slope, so its newest one tells how all of them wander.
 */
export function readyGroup(history: GroupHistory, noise: PressureNoise, scaleOf: ScaleLookup, rules: HouseRules): PreparedGroup {
  const prepared = prepareGroup(history, { rules, scaleOf, ends: lineBreaks(history, Number.NEGATIVE_INFINITY), levelingPsi: noise.levelingPsi })
  const newest = prepared.lines.at(-1)
  return newest ? { ...prepared, wander: wanderOf(newest, groupLimitLb(history, rules), noise.wanderPsi) } : prepared
}
