import { standardNormalCdf, standardNormalQuantile } from '#core/line/statistics.ts'

/** One explanation of a weight: how probable it is, lb and lb². */
export interface MixturePart {
  readonly share: number
  readonly mean: number
  readonly variance: number
}

/** A weight as a mixture of normal ones: shares that add up to 1, means in lb, variances in lb². */
export interface WeightMixture {
  readonly parts: readonly MixturePart[]
  readonly weightLb: number
  /** Standard uncertainty of the whole: the spread within the parts and between them. */
  readonly uLb: number
}

/** The mixture of given parts. Source: mean and variance of a mixture, JCGM 102-style sums (elementary). */
export function mixtureOf(parts: readonly MixturePart[]): WeightMixture {
  let weightLb = 0
  for (const { share, mean } of parts) weightLb += share * mean
  let variance = 0
  for (const { share, mean, variance: own } of parts) variance += share * (own + (mean - weightLb) ** 2)
  return { parts, weightLb, uLb: Math.sqrt(variance) }
}

/** Probability that the weight is above a limit (lb), right also where two explanations lie far apart. */
export function probabilityAbove({ parts }: WeightMixture, limitLb: number): number {
  let sum = 0
  for (const { share, mean, variance } of parts)
    sum += share * standardNormalCdf((mean - limitLb) / Math.sqrt(variance))
  return sum
}

/**
 * The weight below which the mixture lies with a probability strictly between 0 and 1, lb. By bisection to 0.01 lb
 * between the lowest and the highest quantile of its parts.
 */
export function mixtureQuantile(mixture: WeightMixture, probability: number): number {
  const z = standardNormalQuantile(probability)
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (const { mean, variance } of mixture.parts) {
    const at = mean + z * Math.sqrt(variance)
    low = Math.min(low, at)
    high = Math.max(high, at)
  }
  while (high - low > 0.01) {
    const middle = (low + high) / 2
    if (1 - probabilityAbove(mixture, middle) < probability) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** Parts told apart of one weight, and of a sum of weights: three weights of three. */
const mostParts = 9
const mostProducts = 27
/** A part with less probability than this is told together with the other small ones. */
const leastShare = 2e-3

/** Several parts as the one normal part of their mean and variance. */
function merged(parts: readonly MixturePart[]): MixturePart {
  let share = 0
  let mean = 0
  for (const part of parts) {
    share += part.share
    mean += part.share * part.mean
  }
  mean /= share
  let variance = 0
  for (const part of parts) variance += (part.share / share) * (part.variance + (part.mean - mean) ** 2)
  return { share, mean, variance }
}

/** The most probable parts; the small ones go into one with the least of those, so that mean and variance stay. */
export function fewParts(parts: readonly MixturePart[], most = mostParts): readonly MixturePart[] {
  if (parts.length === 1) return parts
  const sorted = [...parts].sort((a, b) => b.share - a.share)
  let kept = Math.min(most, sorted.length)
  while (kept > 1 && (sorted[kept - 1] as MixturePart).share < leastShare) kept -= 1
  if (kept === sorted.length) return parts
  return [...sorted.slice(0, kept - 1), merged(sorted.slice(kept - 1))]
}

/** The parts of a sum of two independent weights, the second times a factor. */
export function addParts(
  parts: readonly MixturePart[],
  others: readonly MixturePart[],
  factor: number,
): readonly MixturePart[] {
  const sums: MixturePart[] = []
  for (const { share, mean, variance } of parts)
    for (const other of others)
      sums.push({
        share: share * other.share,
        mean: mean + factor * other.mean,
        variance: variance + factor * factor * other.variance,
      })
  return fewParts(sums, mostProducts)
}
