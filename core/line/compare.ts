import type { Line } from '#core/line/line.ts'

/** Weights of a line at two pressures with their covariance, lb and lb². */
export interface TwoWeights {
  readonly atEmpty: number
  readonly atLimit: number
  readonly varEmpty: number
  readonly varLimit: number
  readonly cov: number
}

/** The line seen as its weights at two pressures (psi): the coordinates in which people and the track think. */
export function weightsAt({ a, b, uA, uB, covAB }: Line, emptyPsi: number, limitPsi: number): TwoWeights {
  const varA = uA * uA
  const varB = uB * uB
  return {
    atEmpty: a + b * emptyPsi,
    atLimit: a + b * limitPsi,
    varEmpty: varA + 2 * emptyPsi * covAB + emptyPsi * emptyPsi * varB,
    varLimit: varA + 2 * limitPsi * covAB + limitPsi * limitPsi * varB,
    cov: varA + (emptyPsi + limitPsi) * covAB + emptyPsi * limitPsi * varB,
  }
}

/** How far one line lies from another, with the standard uncertainty of each difference and a joint test. */
export interface LineDifference {
  readonly atEmptyLb: number
  readonly uEmptyLb: number
  readonly atLimitLb: number
  readonly uLimitLb: number
  /** Chi-squared of both differences together, 2 degrees of freedom under the hypothesis of one unchanged line. */
  readonly chi2: number
}

/**
 * Difference `later - earlier` at two pressures. Their errors are taken as independent; `extra` is added to the
 * covariance of the difference: the wander expected between the two, differing scales.
 *
 * Units: lb, lb². Joint test: dᵀ S⁻¹ d with S the sum of both covariances, the usual test of two independent normal
 * vectors. chi2 is 0 only when both differences are.
 */
export function compareLines(
  earlier: TwoWeights,
  later: TwoWeights,
  extra = { varEmpty: 0, varLimit: 0, cov: 0 },
): LineDifference {
  const atEmptyLb = later.atEmpty - earlier.atEmpty
  const atLimitLb = later.atLimit - earlier.atLimit
  const varEmpty = earlier.varEmpty + later.varEmpty + extra.varEmpty
  const varLimit = earlier.varLimit + later.varLimit + extra.varLimit
  const cov = earlier.cov + later.cov + extra.cov
  const determinant = Math.max(varEmpty * varLimit - cov * cov, 1e-9 * varEmpty * varLimit)
  const chi2 =
    (atEmptyLb * atEmptyLb * varLimit - 2 * atEmptyLb * atLimitLb * cov + atLimitLb * atLimitLb * varEmpty) /
    determinant
  return { atEmptyLb, uEmptyLb: Math.sqrt(varEmpty), atLimitLb, uLimitLb: Math.sqrt(varLimit), chi2 }
}
