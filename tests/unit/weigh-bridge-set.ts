import type { BridgeSet } from '#core/weight/bridge.ts'
import { type CorrelatedWeight, sumWeights } from '#core/weight/correlated.ts'
import { probabilityOver } from '#core/weight/verdict.ts'
import type { GroupWeighing } from '#core/weight/weigh.ts'

/** Weights by group, of those that were weighed. */
export const weightsByGroup = (groups: readonly GroupWeighing[]): Map<number, CorrelatedWeight> =>
  new Map(groups.flatMap((group) => (group.weighed ? [[group.groupId, group.weight]] : [])))

/**
 * One bridge set weighed for itself, from the weights of its groups: what the running sums of the product are held
 * against.
 */
export function weighBridgeSet(
  set: BridgeSet,
  weights: ReadonlyMap<number, CorrelatedWeight>,
): { weightLb: number; uLb: number; pOver: number } | null {
  const known: CorrelatedWeight[] = []
  const shares: number[] = []
  for (const { groupId, share } of set.shares) {
    const weight = weights.get(groupId)
    if (weight === undefined) return null
    known.push(weight)
    shares.push(share)
  }
  const { weightLb, uLb } = sumWeights(known, shares)
  return { weightLb, uLb, pOver: probabilityOver(weightLb, uLb, set.limitLb) }
}
