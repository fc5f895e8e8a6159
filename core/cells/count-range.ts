import { standardNormalCdf } from '#core/line/statistics.ts'
import { at, sumOf } from '#core/words/lists.ts'

/** How many of some things come to pass: what is expected, and the range that holds it in eight cases of ten. */
export interface CountRange {
  readonly expected: number
  /** Smallest counts that are reached or undercut with a chance of 10 % and 90 %. */
  readonly low: number
  readonly high: number
}

/** Chances, each 0 to 1, of things that are independent of each other, and how likely it is that these are theirs. */
export interface Chances {
  readonly weight: number
  readonly each: readonly number[]
}

const [lowShare, highShare] = [0.1, 0.9]
/** Up to so many uncertain things their count is added up exactly; beyond, the normal distribution stands in. */
const mostExact = 300
/** A chance closer to 0 or 1 than this is taken for that. */
const certain = 1e-9

/** Chance that at most so many come to pass, as a function. */
type AtMost = (count: number) => number

/** So many standard deviations, and counts, beyond the mean nothing is left to count. */
const farthest = { deviations: 10, counts: 20 } as const

/** The Poisson-binomial distribution itself: the chances are added to it one by one. */
function exactly(uncertain: readonly number[], mean: number, variance: number): AtMost {
  const most = Math.ceil(mean + farthest.deviations * Math.sqrt(variance) + farthest.counts)
  const share = new Float64Array(Math.min(uncertain.length, most) + 1)
  share[0] = 1
  uncertain.forEach((p, i) => {
    for (let k = Math.min(i + 1, share.length - 1); k > 0; k -= 1)
      share[k] = at(share, k) * (1 - p) + at(share, k - 1) * p
    share[0] = at(share, 0) * (1 - p)
  })
  let sum = 0
  const upTo = share.map((each) => {
    sum += each
    return sum
  })
  return (count) => (count < 0 ? 0 : at(upTo, Math.min(count, upTo.length - 1)))
}

/** Its normal approximation with the half of a count for continuity. */
function nearly(mean: number, variance: number): AtMost {
  const sd = Math.sqrt(variance)
  return (count) => standardNormalCdf((count + 0.5 - mean) / sd)
}

function atMost({ each }: Chances): { mean: number; atMost: AtMost } {
  const sure = each.reduce((sum, p) => sum + (p > 1 - certain ? 1 : 0), 0)
  const uncertain = each.filter((p) => p >= certain && p <= 1 - certain)
  const mean = sumOf(uncertain, (p) => p)
  const variance = sumOf(uncertain, (p) => p * (1 - p))
  const rest =
    uncertain.length <= mostExact || variance < 1 ? exactly(uncertain, mean, variance) : nearly(mean, variance)
  return { mean: sure + mean, atMost: (count) => rest(count - sure) }
}

/**
 * The count of what comes to pass: the Poisson-binomial distribution of the chances, mixed over several suppositions of
 * them where they hang together (weights adding up to 1).
 *
 * Precision: exact to rounding up to 300 uncertain chances a supposition; beyond, within one count.
 * Errors: none for chances within 0 to 1. Source: Hoeffding, Annals of Mathematical Statistics 27 (1956) 713, for the
 * distribution (from memory).
 */
export function countRange(suppositions: readonly Chances[]): CountRange {
  const mixed = suppositions.map((chances) => ({ weight: chances.weight, ...atMost(chances) }))
  const most = suppositions.reduce((sum, { each }) => Math.max(sum, each.length), 0)
  /** The smallest count that is not exceeded with a chance. */
  const quantile = (share: number): number => {
    let [below, above] = [-1, most]
    while (above - below > 1) {
      const middle = Math.floor((below + above) / 2)
      if (sumOf(mixed, ({ weight, atMost: chance }) => weight * chance(middle)) >= share - 1e-12) above = middle
      else below = middle
    }
    return above
  }
  return {
    expected: sumOf(mixed, ({ weight, mean }) => weight * mean),
    low: quantile(lowShare),
    high: quantile(highShare),
  }
}
