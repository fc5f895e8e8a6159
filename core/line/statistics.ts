import betaQuantile from '@stdlib/stats-base-dists-beta-quantile'
import chisquareQuantile from '@stdlib/stats-base-dists-chisquare-quantile'
import normalCdf from '@stdlib/stats-base-dists-normal-cdf'
import normalQuantile from '@stdlib/stats-base-dists-normal-quantile'
import { at } from '#core/words/lists.ts'

const remembered = new Map<string, number>()

/**
 * Quantile of the chi-squared distribution. p within 0 to 1, dof > 0. A fleet asks for the same few again and again,
 * so each answer is kept. Precision: 1e-15 against closed forms (@stdlib).
 */
export function chiSquaredQuantile(p: number, dof: number): number {
  const key = `${p}|${dof}`
  let value = remembered.get(key)
  if (value === undefined) {
    value = chisquareQuantile(p, dof)
    remembered.set(key, value)
  }
  return value
}

/** Probability that a standard normal variable is at most z. */
export const standardNormalCdf = (z: number): number => normalCdf(z, 0, 1)

/** Quantile of the standard normal distribution, p strictly between 0 and 1. */
export const standardNormalQuantile = (p: number): number => normalQuantile(p, 0, 1)

/** Quantile of the beta distribution. p within 0 to 1, alpha and beta > 0. */
export const betaQuantileAt = (p: number, alpha: number, beta: number): number => betaQuantile(p, alpha, beta)

/** Median of a list, which is not changed; NaN of an empty one. */
export function median(values: readonly number[]): number {
  if (values.length === 0) return Number.NaN
  const sorted = Float64Array.from(values).sort()
  const half = (sorted.length - 1) / 2
  return (at(sorted, Math.floor(half)) + at(sorted, Math.ceil(half))) / 2
}

/** Standard deviation as the median distance from the median tells it: 1.4826 × MAD, that of a normal sample. */
export function robustSpread(values: readonly number[], centre = median(values)): number {
  return 1.4826 * median(values.map((value) => Math.abs(value - centre)))
}
