import type { Line } from '#core/line/fit.ts'

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
  // Rounding may leave a little less than nothing where the parts all but cancel.
  const varAt = (psi: number) => Math.max(0, varA + 2 * psi * covAB + psi * psi * varB)
  return {
    atEmpty: a + b * emptyPsi,
    atLimit: a + b * limitPsi,
    varEmpty: varAt(emptyPsi),
    varLimit: varAt(limitPsi),
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

/** Mean month of the Gregorian calendar, ms: the unit of time of the wander rate. */
export const monthMs = (365.2425 / 12) * 86_400_000

/**
 * How a line wanders: each of its two weights is a random walk whose steps, over a time t, have the standard deviation
 * b · rate · √t with the rate in psi per root month; the two walks are correlated since most causes (a sensor's offset,
 * a ride height) move both ends.
 */
export interface Wander {
  readonly psiPerRootMonth: number
  readonly slopeLbPerPsi: number
}

/** How alike the walks of the two ends are. */
export const endsCorrelation = 0.5

/** Covariance that wandering for `ms` adds to the two weights, lb². */
export function wanderCovariance(
  { psiPerRootMonth, slopeLbPerPsi }: Wander,
  ms: number,
): { varEmpty: number; varLimit: number; cov: number } {
  const variance = (slopeLbPerPsi * psiPerRootMonth) ** 2 * (Math.max(0, ms) / monthMs)
  return { varEmpty: variance, varLimit: variance, cov: endsCorrelation * variance }
}

/** Lets a line wander for `ms`: the weights stay, their covariance grows. */
export function wanderOn(state: TwoWeights, wander: Wander, ms: number): TwoWeights {
  const grown = wanderCovariance(wander, ms)
  return {
    ...state,
    varEmpty: state.varEmpty + grown.varEmpty,
    varLimit: state.varLimit + grown.varLimit,
    cov: state.cov + grown.cov,
  }
}

/** Where a pressure lies between the two reference pressures: 0 at empty, 1 at limit, beyond as it comes. */
export const shareOf = (psi: number, emptyPsi: number, limitPsi: number): number =>
  (psi - emptyPsi) / (limitPsi - emptyPsi)

/** Weight and variance that a state reads at a share between empty and limit. */
export function readState(state: TwoWeights, share: number): { weightLb: number; variance: number } {
  const e = 1 - share
  return {
    weightLb: e * state.atEmpty + share * state.atLimit,
    variance: e * e * state.varEmpty + 2 * e * share * state.cov + share * share * state.varLimit,
  }
}
