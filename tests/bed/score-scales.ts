import { expanded } from '#core/words/coverage.ts'
import type { ScaleRow } from '#tests/bed/reports.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'

export interface ScaleScore {
  /** Scales on whose bias something is said, and how many of the 95 % intervals hold the truth. */
  readonly told: number
  readonly held: number
  /** Scales that keep their tolerance, and how many of them are called biased or beyond it. */
  readonly good: number
  readonly condemned: number
  /** Scales that do not, and how many are called so. */
  readonly bad: number
  readonly named: number
}

/** Scores what `scales --json` says of a simulated fleet against what its scales truly do. */
export function scoreScales({ scales }: FleetTruth, rows: readonly ScaleRow[]): ScaleScore {
  const truth = new Map(scales.map((scale) => [scale.scale, scale]))
  const score = { told: 0, held: 0, good: 0, condemned: 0, bad: 0, named: 0 }
  for (const { scale, bias_percent, u_percent, verdict } of rows) {
    const own = truth.get(scale)
    if (!own) throw new RangeError(`the simulator has no scale ${scale}`)
    const condemned = verdict === 'biased' || verdict === 'beyond tolerance' ? 1 : 0
    if (verdict !== 'not known') {
      score.told += 1
      if (Math.abs(bias_percent - own.biasPercent) <= expanded(u_percent)) score.held += 1
    }
    if (Math.abs(own.biasPercent) <= own.tolerancePercent) {
      score.good += 1
      score.condemned += condemned
    } else {
      score.bad += 1
      score.named += condemned
    }
  }
  return score
}

/** The scores of several fleets as one. */
export function addScaleScores(scores: readonly ScaleScore[]): ScaleScore {
  const sum = (pick: (score: ScaleScore) => number) => scores.reduce((total, score) => total + pick(score), 0)
  return {
    told: sum(({ told }) => told),
    held: sum(({ held }) => held),
    good: sum(({ good }) => good),
    condemned: sum(({ condemned }) => condemned),
    bad: sum(({ bad }) => bad),
    named: sum(({ named }) => named),
  }
}
