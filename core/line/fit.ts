import { chiSquaredQuantile } from '#core/line/statistics.ts'
import { type Problem, type Result, ok, refuse } from '#core/words/problem.ts'

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

const relativeStep = 1e-15
const plainSteps = 60
const acceleratedSteps = 40

function inspect(points: readonly Point[]): Problem | undefined {
  if (points.length < 2) {
    return {
      code: 'too-few-points',
      field: 'points',
      value: String(points.length),
      accepted: 'two or more points',
      message: `A line needs two or more points; ${points.length} given.`,
    }
  }
  for (let i = 0; i < points.length; i += 1) {
    const point = points[i] as Point
    for (const field of ['x', 'y', 'ux', 'uy'] as const) {
      const value = point[field]
      if (!Number.isFinite(value)) {
        return {
          code: 'not-finite',
          field,
          value: String(value),
          accepted: 'a finite number',
          message: `Point ${i + 1}: ${field} is ${value}; a finite number is needed.`,
        }
      }
    }
    if (point.ux < 0) {
      return {
        code: 'non-positive-uncertainty',
        field: 'ux',
        value: String(point.ux),
        accepted: 'zero (x exact) or more',
        message: `Point ${i + 1}: the uncertainty ux is ${point.ux}; zero (x exact) or more is accepted.`,
      }
    }
    if (point.uy <= 0) {
      return {
        code: 'non-positive-uncertainty',
        field: 'uy',
        value: String(point.uy),
        accepted: 'more than zero',
        message: `Point ${i + 1}: the uncertainty uy is ${point.uy}; more than zero is accepted.`,
      }
    }
  }
  const first = points[0] as Point
  if (points.every(({ x }) => x === first.x)) {
    return {
      code: 'identical-x',
      field: 'x',
      value: String(first.x),
      accepted: 'at least two different values of x',
      message: `All points have the same x (pressure) ${first.x}; at least two different ones are needed.`,
    }
  }
  if (points.every(({ y }) => y === first.y)) {
    return {
      code: 'identical-y',
      field: 'y',
      value: String(first.y),
      accepted: 'at least two different values of y',
      message: `All points have the same y (weight) ${first.y}; at least two different ones are needed.`,
    }
  }
  return undefined
}

const unsettled = (points: readonly Point[]): Problem => ({
  code: 'no-convergence',
  field: 'points',
  value: `${points.length} points`,
  accepted: 'points that follow a line',
  message: 'No single line fits these points: the fit did not settle. Check the points for slips.',
})

/** The points as seen from their mean: near the origin no digit is lost to where the origin happens to lie. */
function centred(points: readonly Point[]): { points: Point[]; x0: number; y0: number } {
  let sumX = 0
  let sumY = 0
  for (const { x, y } of points) {
    sumX += x
    sumY += y
  }
  const x0 = sumX / points.length
  const y0 = sumY / points.length
  return { x0, y0, points: points.map(({ x, y, ux, uy }) => ({ x: x - x0, y: y - y0, ux, uy })) }
}

/** Slope of ordinary least squares on centred points: where the iteration starts. */
function startingSlope(points: readonly Point[]): number {
  let sxx = 0
  let sxy = 0
  for (const { x, y } of points) {
    sxx += x * x
    sxy += x * y
  }
  return sxy / sxx
}

/**
 * The point that every line of slope b fits best through: means of x and y weighted by 1/(uy² + b² ux²), whose sum is
 * sumW.
 */
function weightedMeans(points: readonly Point[], b: number): { sumW: number; meanX: number; meanY: number } {
  let sumW = 0
  let sumWX = 0
  let sumWY = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy * uy + b * b * ux * ux)
    sumW += w
    sumWX += w * x
    sumWY += w * y
  }
  const meanX = sumWX / sumW
  const meanY = sumWY / sumW
  return { sumW, meanX, meanY }
}

/** One step of York's iteration (York et al. 2004, equations 13b and 14): the slope that follows from slope b. */
function nextSlope(points: readonly Point[], b: number): number {
  const { meanX, meanY } = weightedMeans(points, b)
  let numerator = 0
  let denominator = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy * uy + b * b * ux * ux)
    const u = x - meanX
    const v = y - meanY
    const beta = w * (u * uy * uy + b * v * ux * ux)
    numerator += w * beta * v
    denominator += w * beta * u
  }
  return numerator / denominator
}

/**
 * The fixed point of York's step. Plain iteration serves ordinary data in a handful of steps; where it creeps,
 * Aitken's extrapolation (Steffensen) takes over. NaN when neither settles.
 */
function solveSlope(points: readonly Point[]): number {
  let b = startingSlope(points)
  for (let step = 0; step < plainSteps; step += 1) {
    const next = nextSlope(points, b)
    const settled = Math.abs(next - b) <= relativeStep * Math.abs(next)
    b = next
    if (settled) return b
  }
  for (let step = 0; step < acceleratedSteps; step += 1) {
    const once = nextSlope(points, b)
    const twice = nextSlope(points, once)
    const bend = twice - 2 * once + b
    const next = bend === 0 ? twice : b - (once - b) ** 2 / bend
    if (
      Math.abs(next - b) <= 8 * relativeStep * Math.abs(next) ||
      Math.abs(once - b) <= 8 * relativeStep * Math.abs(once)
    )
      return next
    b = next
  }
  // The last bit may flicker for ever; what no longer changes the eleventh digit has settled for our purpose.
  return Math.abs(nextSlope(points, b) - b) <= 1e-11 * Math.abs(b) ? b : Number.NaN
}

/**
 * Straight line y = a + b x through points uncertain in both coordinates: generalised distance regression, which
 * minimises chi² = Σ (y - a - b x)² / (uy² + b² ux²). With every ux zero it is weighted least squares.
 *
 * Uncertainties follow from the declared ux and uy at the adjusted points, never rescaled by chi²:
 *   W = 1/(uy² + b² ux²), x̂ the adjusted x,
 *   u²(b) = 1/Σ W (x̂ - x̄̂)², u²(a) = 1/ΣW + x̄̂² u²(b), cov(a,b) = -x̄̂ u²(b).
 *
 * Units: the caller's; here x is gauge pressure in psi and y weight in lb.
 * Range: two or more points, finite, ux ≥ 0, uy > 0, x and y not all the same.
 * Precision: relative steps of 1e-15; at most 60 plain and 40 accelerated steps, each a sum over the points.
 * Errors (as values): too-few-points, not-finite, non-positive-uncertainty, identical-x, identical-y, no-slope,
 * no-convergence.
 * Source: York et al., Am. J. Phys. 72 (2004) 367; ISO/TS 28037:2010, clause 7.
 */
export function fitLine(given: readonly Point[]): Result<Fit> {
  const problem = inspect(given)
  if (problem) return refuse(problem)
  const { points, x0, y0 } = centred(given)
  const b = solveSlope(points)
  if (b === 0) {
    return refuse({
      code: 'no-slope',
      field: 'points',
      value: `${points.length} points`,
      accepted: 'points whose y changes with x',
      message: 'The line through these points is level: y does not change with x. Check the points for slips.',
    })
  }
  if (!Number.isFinite(b)) return refuse(unsettled(points))

  const { sumW, meanX, meanY } = weightedMeans(points, b)

  let chi2 = 0
  let sumWBeta = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy * uy + b * b * ux * ux)
    const residual = y - meanY - b * (x - meanX)
    chi2 += w * residual * residual
    sumWBeta += w * w * ((x - meanX) * uy * uy + b * (y - meanY) * ux * ux)
  }
  const meanBeta = sumWBeta / sumW
  let spread = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy * uy + b * b * ux * ux)
    const beta = w * ((x - meanX) * uy * uy + b * (y - meanY) * ux * ux)
    spread += w * (beta - meanBeta) * (beta - meanBeta)
  }
  const adjustedMean = x0 + meanX + meanBeta
  const varB = 1 / spread
  const varA = 1 / sumW + adjustedMean * adjustedMean * varB
  // Figures hundreds of decades apart overflow on the way: no answer is better than an infinite one.
  if (!Number.isFinite(varA + varB + chi2)) return refuse(unsettled(points))
  const dof = points.length - 2
  return ok({
    a: y0 + meanY - b * (x0 + meanX),
    b,
    uA: Math.sqrt(varA),
    uB: Math.sqrt(varB),
    covAB: -adjustedMean * varB,
    chi2: dof === 0 ? 0 : chi2,
    dof,
    chi2Limit95: dof === 0 ? null : chiSquaredQuantile(0.95, dof),
  })
}
