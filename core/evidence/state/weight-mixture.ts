import { standardNormalCdf, standardNormalQuantile } from '#core/line/statistics.ts'

/** A weight as a mixture of normal ones: shares that add up to 1, means in lb, variances in lb². */
export interface WeightMixture {
  readonly parts: readonly { readonly share: number; readonly mean: number; readonly variance: number }[]
  readonly weightLb: number
  /** Standard uncertainty of the whole: the spread within the parts and between them. */
  readonly uLb: number
}

/** The mixture of given parts. Source: mean and variance of a mixture, JCGM 102-style sums (elementary). */
export function mixtureOf(parts: WeightMixture['parts']): WeightMixture {
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
