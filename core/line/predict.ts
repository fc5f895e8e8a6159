import type { Line } from '#core/line/fit.ts'

/** A value with its standard uncertainty (k = 1), both in the same unit. */
export interface Estimate {
  readonly value: number
  readonly u: number
}

function requireFinite(value: number, name: string): void {
  if (!Number.isFinite(value)) throw new RangeError(`${name} ${value} is not finite`)
}

function requireUncertainty(u: number, name: string): void {
  if (!(u >= 0 && u < Number.POSITIVE_INFINITY))
    throw new RangeError(`${name} ${u} is not a finite number of zero or more`)
}

/** u²(a) + x² u²(b) + 2 x cov(a,b), cut at zero: the terms nearly cancel and rounding may leave a hair below it. */
function lineVariance({ uA, uB, covAB }: Line, x: number): number {
  return Math.max(0, uA * uA + x * uB * (x * uB) + 2 * x * covAB)
}

/**
 * Weight read off a line at a pressure:  W = a + b p,  u²(W) = u²(a) + p² u²(b) + 2 p cov(a,b) + b² u²(p).
 *
 * Units: p, uPsi psi gauge; result lb (k = 1). Range: finite p, uPsi ≥ 0; outside the points it extrapolates and the
 * uncertainty says so. Errors: RangeError, a caller's mistake. Source: JCGM 100:2008 (GUM) 5.2.2, equation (13).
 */
export function predictWeight(line: Line, psi: number, uPsi = 0): Estimate {
  requireFinite(psi, 'pressure')
  requireUncertainty(uPsi, 'pressure uncertainty')
  return { value: line.a + line.b * psi, u: Math.sqrt(lineVariance(line, psi) + (line.b * uPsi) ** 2) }
}

/**
 * Pressure at which the line reads a weight:  p = (W - a)/b,  u²(p) = [u²(a) + p² u²(b) + 2 p cov(a,b) + u²(W)]/b².
 *
 * Units: W, uLb lb; result psi gauge (k = 1). Range: finite W, uLb ≥ 0, slope not zero (a fitted line never has one).
 * Errors: RangeError, a caller's mistake. Source: ISO/TS 28037:2010, 11.1.
 */
export function pressureAtWeight(line: Line, weightLb: number, uLb = 0): Estimate {
  requireFinite(weightLb, 'weight')
  requireUncertainty(uLb, 'weight uncertainty')
  if (line.b === 0) throw new RangeError('a line with slope 0 has no pressure for a weight')
  const psi = (weightLb - line.a) / line.b
  return { value: psi, u: Math.sqrt(lineVariance(line, psi) + uLb * uLb) / Math.abs(line.b) }
}
