import { powersOf, sumsAt } from '#core/cells/weibull-sums.ts'
import { at, sumOf } from '#core/words/lists.ts'
import { risingRoot } from '#core/cells/life-model.ts'
import { standardNormalQuantile } from '#core/line/statistics.ts'
import { type Result, ok, refuse } from '#core/words/problem.ts'

/** A life as the estimators need it: days watched (more than 0), and whether it ended in death. */
export interface Watched {
  readonly days: number
  readonly died: boolean
}

/** The same where an end may count as a death in part, 0 to 1; the rest of it was watched no longer. */
export interface PartlyDead {
  readonly days: number
  readonly deaths: number
}

/** One step of the curve, at a time at which something died. */
export interface SurvivalStep {
  readonly days: number
  /** Cells watched up to this time and alive before it. */
  readonly atRisk: number
  /** Not whole where ends count in part. */
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
 * equal times. An end that counts as a death in part adds that part to d; the rest of it is censored there. Standard
 * error by Greenwood: S √(Σ d/(n(n-d))). Band on the log-log scale, S^exp(±z se/(S ln S)), which stays within 0 to 1.
 *
 * Units: any unit of time, here days. `confidence` between 0 and 1 (two-sided). No lives, or none that died: no steps.
 * Source: Kaplan and Meier, JASA 53 (1958) 457; Greenwood (1926); Kalbfleisch and Prentice, The Statistical Analysis of
 * Failure Time Data, for the log-log band (from memory).
 */
export function survivalCurve(lives: readonly (Watched | PartlyDead)[], confidence = 0.95): SurvivalCurve {
  const z = standardNormalQuantile((1 + confidence) / 2)
  const sorted = [...lives].sort((p, q) => p.days - q.days)
  const steps: SurvivalStep[] = []
  let survival = 1
  let greenwood = 0
  let allDeaths = 0
  let medianDays: number | null = null
  for (let i = 0; i < sorted.length; ) {
    const { days } = at(sorted, i)
    const atRisk = sorted.length - i
    let deaths = 0
    for (; i < sorted.length && at(sorted, i).days === days; i += 1) {
      const life = at(sorted, i)
      deaths += 'deaths' in life ? life.deaths : Number(life.died)
    }
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

/** A Weibull law of life, S(t) = exp(-(t/η)^β), with the covariance of (ln η, ln β). */
export interface WeibullLaw {
  /** η, in days: 63.2 % are dead by then. */
  readonly lifeDays: number
  /** β: about 1 is chance, 3 and more is wear-out at a predictable age. */
  readonly shape: number
  readonly varLnLife: number
  readonly varLnShape: number
  readonly covLnLifeLnShape: number
}

export interface WeibullFit extends WeibullLaw {
  readonly lives: number
  readonly deaths: number
  readonly logLikelihood: number
}

const shapeRange = { min: 0.05, max: 200 }

/**
 * Weibull law by maximum likelihood from deaths and censored lives. The shape solves
 *   Σ t^β ln t / Σ t^β - 1/β - mean of ln t over deaths = 0,
 * rising in β, by Newton kept in a bracket of 0.05 to 200 (`risingRoot`, step below 1e-12 of ln β);
 * then η = (Σ t^β / deaths)^(1/β). Covariance: inverse of the observed information of (ln η, ln β).
 *
 * Units: days (any unit serves). Lives must be more than 0 and finite.
 * Errors (as values): no-deaths, bad-life, shape-unbounded (all died at one time and none was watched longer: no finite
 * shape).
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3; Lawless, Statistical Models and Methods for
 * Lifetime Data (from memory) for the observed information.
 */
export function fitWeibull(lives: readonly Watched[]): Result<WeibullFit> {
  const bad = lives.find(({ days }) => !(days > 0 && Number.isFinite(days)))
  if (bad) {
    return refuse({
      code: 'bad-life',
      field: 'days',
      value: String(bad.days),
      accepted: 'more than 0',
      message: `A life of ${bad.days} days cannot be used; more than 0 is accepted.`,
    })
  }
  const deaths = lives.reduce((count, { died }) => count + (died ? 1 : 0), 0)
  if (deaths === 0) {
    return refuse({
      code: 'no-deaths',
      field: 'lives',
      value: `${lives.length} lives`,
      accepted: 'at least one death',
      message: 'No cell died among these: the record alone says nothing about how long they last.',
    })
  }
  // Relative to the longest life no power overflows, and the shape does not change.
  const longest = lives.reduce((most, { days }) => Math.max(most, days), 0)
  const logs = lives.map(({ days }) => Math.log(days / longest))
  const logSumOfDeaths = sumOf(logs, (log, i) => (lives[i]?.died ? log : 0))
  const lnShape = risingRoot(
    (k) => {
      const shape = Math.exp(k)
      const { s0, s1, s2 } = powersOf(logs, shape)
      const mean = s1 / s0
      return { value: mean - 1 / shape - logSumOfDeaths / deaths, slope: shape * (s2 / s0 - mean * mean) + 1 / shape }
    },
    Math.log(shapeRange.min),
    Math.log(shapeRange.max),
    1e-12,
    0,
  )
  const shape = Math.exp(lnShape)
  if (shape >= shapeRange.max * (1 - 1e-9) || shape <= shapeRange.min * (1 + 1e-9)) {
    return refuse({
      code: 'shape-unbounded',
      field: 'lives',
      value: `${lives.length} lives`,
      accepted: `a shape within ${shapeRange.min} to ${shapeRange.max}`,
      message: 'These lives are too alike, or too odd, for a law of life: more deaths at different ages are needed.',
    })
  }
  const powers = powersOf(logs, shape)
  const lnScale = Math.log(powers.s0 / deaths) / shape
  // Σ e^z = deaths at the maximum.
  const { sumZE, sumZZE, sumZOfDeaths } = sumsAt(powers, { deaths, logSumOfDeaths }, shape, lnScale)
  const infoLife = shape * shape * deaths
  const infoBoth = -shape * sumZE
  const infoShape = sumZE + sumZZE - sumZOfDeaths
  const determinant = infoLife * infoShape - infoBoth * infoBoth
  return ok({
    lifeDays: longest * Math.exp(lnScale),
    shape,
    lives: lives.length,
    deaths,
    varLnLife: infoShape / determinant,
    varLnShape: infoLife / determinant,
    covLnLifeLnShape: -infoBoth / determinant,
    logLikelihood: deaths * (lnShape - Math.log(longest)) + sumZOfDeaths - logSumOfDeaths - deaths,
  })
}

/**
 * Share alive at an age in days (0 or more) with its two-sided band by the delta method on ln(-ln S), which stays
 * within 0 to 1.
 */
export function weibullSurvival(
  law: WeibullLaw,
  days: number,
  confidence = 0.95,
): { survival: number; lower: number; upper: number } {
  if (days <= 0) return { survival: 1, lower: 1, upper: 1 }
  const distance = Math.log(days / law.lifeDays)
  const z = law.shape * distance
  const variance =
    law.shape * law.shape * (law.varLnLife + distance * distance * law.varLnShape - 2 * distance * law.covLnLifeLnShape)
  const half = standardNormalQuantile((1 + confidence) / 2) * Math.sqrt(Math.max(0, variance))
  const survivalAt = (at: number) => Math.exp(-Math.exp(at))
  return { survival: survivalAt(z), lower: survivalAt(z + half), upper: survivalAt(z - half) }
}

/** Age in days by which a share (0 to below 1) has died: η (-ln(1 - share))^(1/β). */
export const weibullQuantileDays = (law: Pick<WeibullLaw, 'lifeDays' | 'shape'>, shareDead: number): number =>
  law.lifeDays * (-Math.log1p(-shareDead)) ** (1 / law.shape)
