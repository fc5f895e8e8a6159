import type { Line } from '#core/line/fit.ts'
import { predictWeight } from '#core/line/predict.ts'

/**
 * A point that could be weighed next, and the standard uncertainty of the line at the limit without and with it, lb.
 */
export interface NextPoint {
  readonly psi: number
  readonly uNowLb: number
  readonly uAfterLb: number
}

const choices = 40

/**
 * Standard uncertainty at the limit once a point at a pressure has been added, lb: with c the covariance of what the
 * line reads there and at the limit,
 *   u² = u²(limit) - c²/(u²(there) + varLb2),   c = u²(a) + (p + q) cov(a,b) + p q u²(b).
 * Units psi, lb. Source: one step of recursive least squares (Gauss; JCGM 100:2008 H.3 for the line's covariance).
 */
export function uWithPoint(line: Line, psi: number, varLb2: number, limitPsi: number): number {
  const { uA, uB, covAB } = line
  const together = uA * uA + (psi + limitPsi) * covAB + psi * limitPsi * uB * uB
  const there = predictWeight(line, psi).u ** 2
  return Math.sqrt(Math.max(0, predictWeight(line, limitPsi).u ** 2 - (together * together) / (there + varLb2)))
}

/**
 * The pressure, between the lightest that a group comes to and the one at its limit, at which one more point makes the
 * line surest at the limit. varLb2: of one point, ticket and pressure together, lb². Range: lowestPsi ≤ limitPsi.
 */
export function bestNextPoint(line: Line, lowestPsi: number, limitPsi: number, varLb2: number): NextPoint {
  const uNowLb = predictWeight(line, limitPsi).u
  let best: NextPoint = { psi: limitPsi, uNowLb, uAfterLb: uWithPoint(line, limitPsi, varLb2, limitPsi) }
  for (let i = 0; i < choices; i += 1) {
    const psi = lowestPsi + ((limitPsi - lowestPsi) * i) / choices
    const uAfterLb = uWithPoint(line, psi, varLb2, limitPsi)
    if (uAfterLb < best.uAfterLb) best = { psi, uNowLb, uAfterLb }
  }
  return best
}
