import { type CorrelatedWeight, type WeightSum, sumWeights } from '#core/weight/correlated.ts'
import type { GroupWeighing, UnweighedGroup, WeighedGroup } from '#core/weight/weigh.ts'

/** The gross weight of a combination, or what it lacks and what the weighed groups come to without it. */
export type Gross =
  | (WeightSum & { readonly complete: true })
  | { readonly complete: false; readonly missing: readonly UnweighedGroup[]; readonly weighed: WeightSum }

const isWeighed = (group: GroupWeighing): group is WeighedGroup => group.weighed

/**
 * Gross = Σ group weights with full covariance: an estimated steer weight moves with the drive weight it came from, and
 * groups calibrated on one scale share its gain error. A group without a weight leaves gross incomplete, never smaller.
 * Units: lb, k = 1. Source: JCGM 100:2008 5.2.2, equation (13), see `sumWeights`.
 */
export function grossOf(groups: readonly GroupWeighing[]): Gross {
  const missing: UnweighedGroup[] = []
  const weights: CorrelatedWeight[] = []
  for (const group of groups) {
    if (group.weighed) weights.push(group.weight)
    else missing.push(group)
  }
  const { weightLb, uLb } = sumWeights(weights)
  return missing.length === 0
    ? { complete: true, weightLb, uLb }
    : { complete: false, missing, weighed: { weightLb, uLb } }
}

/**
 * Cargo = gross - tare, lb, k = 1; a scale behind both the lines and the tare ticket errs alike in both. undefined when
 * gross is incomplete. A few pounds below zero mean an empty combination within the uncertainty.
 */
export function cargoOf(groups: readonly GroupWeighing[], tare: CorrelatedWeight): WeightSum | undefined {
  if (!groups.every(isWeighed)) return undefined
  return sumWeights([...groups.map(({ weight }) => weight), tare], [...groups.map(() => 1), -1])
}
