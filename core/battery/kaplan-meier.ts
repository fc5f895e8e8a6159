import { standardNormalQuantile } from '#core/line/quantile.ts'

/** A life as the estimators need it: days watched (more than 0), and whether it ended in death. */
export interface Watched {
  readonly days: number
  readonly died: boolean
}

/** One step of the curve, at a time at which something died. */
export interface SurvivalStep {
  readonly days: number
  /** Cells watched up to this time and alive before it. */
  readonly atRisk: number
  readonly deaths: number
  /** Share still alive after this time, 0 to 1. */
  readonly survival: number
  /** Greenwood's standard error; null once the curve has reached 0, where it is not defined. */
  readonly se: number | null
  /** Confidence band, 0 to 1; null where `se` is. */
  readonly lower: number | null
  readonly upper: number | null
}

export interface SurvivalCurve {
  readonly lives: number
  readonly deaths: number
  readonly steps: readonly SurvivalStep[]
  /** First time at which half or less is alive; null: the curve does not come down so far. */
  readonly medianDays: number | null
}

/**
 * Product-limit survival curve: S(t) = Π over death times u ≤ t of (1 - d(u)/n(u)), with deaths before censorings at
 * equal times. Standard error by Greenwood: S √(Σ d/(n(n-d))). Band on the log-log scale, S^exp(±z se/(S ln S)),
 * which stays within 0 to 1.
 *
 * Units: any unit of time, here days. `confidence` between 0 and 1 (two-sided). No lives, or none that died: no steps.
 * Source: Kaplan and Meier, JASA 53 (1958) 457; Greenwood (1926); Kalbfleisch and Prentice, The Statistical Analysis of
 * Failure Time Data, for the log-log band (from memory).
 */
export function survivalCurve(lives: readonly Watched[], confidence = 0.95): SurvivalCurve {
  const z = standardNormalQuantile((1 + confidence) / 2)
  const sorted = [...lives].sort((p, q) => p.days - q.days)
  const steps: SurvivalStep[] = []
  let survival = 1
  let greenwood = 0
  let allDeaths = 0
  let medianDays: number | null = null
  for (let i = 0; i < sorted.length; ) {
    const { days } = sorted[i] as Watched
    const atRisk = sorted.length - i
    let deaths = 0
    for (; i < sorted.length && sorted[i]?.days === days; i += 1) if (sorted[i]?.died) deaths += 1
    if (deaths === 0) continue
    allDeaths += deaths
    survival = deaths === atRisk ? 0 : survival * (1 - deaths / atRisk)
    greenwood += deaths / (atRisk * (atRisk - deaths))
    // A product of fractions that is one half may come out a rounding error above it.
    if (medianDays === null && survival <= 0.5 + 1e-12) medianDays = days
    if (survival === 0) {
      steps.push({ days, atRisk, deaths, survival, se: null, lower: null, upper: null })
    } else {
      const spread = Math.exp((z * Math.sqrt(greenwood)) / -Math.log(survival))
      steps.push({
        days,
        atRisk,
        deaths,
        survival,
        se: survival * Math.sqrt(greenwood),
        lower: survival ** spread,
        upper: survival ** (1 / spread),
      })
    }
  }
  return { lives: lives.length, deaths: allDeaths, steps, medianDays }
}
