import { risingRoot } from '#core/battery/root.ts'
import type { WeibullLaw } from '#core/battery/weibull.ts'

/**
 * Gauss-Hermite points and weights for a standard normal variable (five and three points; Abramowitz and Stegun
 * 25.4.46, rescaled).
 */
const fivePoints = [
  [-2.856970013872806, 0.011257411327720691],
  [-1.355626179974266, 0.22207592200561266],
  [0, 0.5333333333333333],
  [1.355626179974266, 0.22207592200561266],
  [2.856970013872806, 0.011257411327720691],
] as const
const threePoints = [
  [-1.7320508075688772, 1 / 6],
  [0, 2 / 3],
  [1.7320508075688772, 1 / 6],
] as const

interface Node {
  readonly lifeDays: number
  readonly shape: number
  readonly weight: number
}

/** What is left of one cell, seen from its law of life. Ages in days since it was put in, risks 0 to 1. */
export interface LifeOutlook {
  /** Chance that a cell alive at age `fromDays` is dead at age `toDays`; 0 when that is not later. */
  readonly risk: (fromDays: number, toDays: number) => number
  /** The greatest age before which a cell alive at age `fromDays` dies with no more than this chance (0 to below 1). */
  readonly ageAtRisk: (fromDays: number, risk: number) => number
  /** The same of a fresh cell; worked out once for each risk. */
  readonly freshAgeAtRisk: (risk: number) => number
  /** The age by which half of such cells have died. */
  readonly predictedLifeDays: number
}

/**
 * Risks under a law that is itself uncertain: each is the mean of the Weibull's conditional risk
 *   1 - S(t)/S(a) = 1 - exp((a/η)^β - (t/η)^β)
 * over the normal distribution of (ln η, ln β), by 5 × 3 point Gauss-Hermite quadrature. So a thin record gives an
 * earlier date than the best estimate alone would, and the difference fades as the record grows. A cell's own survival
 * so far is already in the record (as a censored life), so the distribution is not updated once more for it.
 *
 * Precision: ages to 1e-6 days; the quadrature to about 1e-3 of a risk where the life is known to within a half.
 * Errors: none; the law's variances must be 0 or more.
 */
export function lifeOutlook(law: WeibullLaw): LifeOutlook {
  const sdLife = Math.sqrt(law.varLnLife)
  const lean = sdLife > 0 ? law.covLnLifeLnShape / sdLife : 0
  const sdShape = Math.sqrt(Math.max(0, law.varLnShape - lean * lean))
  const nodes: Node[] = fivePoints.flatMap(([x, wx]) =>
    threePoints.map(([y, wy]) => ({
      lifeDays: law.lifeDays * Math.exp(sdLife * x),
      shape: law.shape * Math.exp(lean * x + sdShape * y),
      weight: wx * wy,
    })),
  )
  const risk = (fromDays: number, toDays: number): number => {
    if (toDays <= fromDays) return 0
    const from = Math.max(0, fromDays)
    let sum = 0
    for (const { lifeDays, shape, weight } of nodes)
      sum -= weight * Math.expm1((from / lifeDays) ** shape - (toDays / lifeDays) ** shape)
    return sum
  }
  const ageAtRisk = (fromDays: number, wanted: number): number => {
    const from = Math.max(0, fromDays)
    const hazard = -Math.log1p(-wanted)
    // The mean's quantile lies between the least and the greatest of the nodes'.
    let low = Number.POSITIVE_INFINITY
    let high = from
    const spent = nodes.map(({ lifeDays, shape }) => (from / lifeDays) ** shape)
    for (let i = 0; i < nodes.length; i += 1) {
      const { lifeDays, shape } = nodes[i] as Node
      const age = lifeDays * ((spent[i] as number) + hazard) ** (1 / shape)
      if (age < low) low = age
      if (age > high) high = age
    }
    return risingRoot(
      (age) => {
        let value = -wanted
        let slope = 0
        for (let i = 0; i < nodes.length; i += 1) {
          const { lifeDays, shape, weight } = nodes[i] as Node
          const power = (age / lifeDays) ** shape
          const alive = weight * Math.exp((spent[i] as number) - power)
          value += weight - alive
          slope += (alive * shape * power) / age
        }
        return { value, slope }
      },
      Math.max(low, from),
      high,
      1e-6,
    )
  }
  const fresh = new Map<number, number>()
  const freshAgeAtRisk = (wanted: number): number => {
    const age = fresh.get(wanted) ?? ageAtRisk(0, wanted)
    fresh.set(wanted, age)
    return age
  }
  return { risk, ageAtRisk, freshAgeAtRisk, predictedLifeDays: freshAgeAtRisk(0.5) }
}
