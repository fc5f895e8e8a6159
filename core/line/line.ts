/**
 * A straight calibration line, weight = a + b · pressure, with the covariance of its two coefficients.
 * Units: a, uA lb; b, uB lb/psi; covAB lb²/psi; uncertainties standard (k = 1).
 */
export interface Line {
  readonly a: number
  readonly b: number
  readonly uA: number
  readonly uB: number
  readonly covAB: number
}

/** A point to fit: x with its standard uncertainty ux, y with uy, in whatever units the caller fits in. */
export interface Point {
  readonly x: number
  readonly y: number
  readonly ux: number
  readonly uy: number
}

/**
 * A fitted line: chi2 is the weighted sum of squared residuals at the solution, dof = points - 2, chi2Limit95 the 95 %
 * quantile for that dof, null for two points, which any line fits.
 */
export interface Fit extends Line {
  readonly chi2: number
  readonly dof: number
  readonly chi2Limit95: number | null
}
