import type { CellLife } from '#core/cells/lives.ts'
import type { WeibullLaw } from '#core/cells/survival.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** A function's value and slope at a point. */
export interface ValueAndSlope {
  readonly value: number
  readonly slope: number
}

/**
 * Where a rising function crosses zero between `low` and `high`: Newton's steps, each replaced by a bisection when it
 * would leave what is left of the bracket, so it always settles. Stops when a step is below `precision` (absolute) or
 * after 200 steps. A function above zero at `low` answers `low`, one below zero at `high` answers `high`.
 */
export function risingRoot(
  at: (x: number) => ValueAndSlope,
  low: number,
  high: number,
  precision: number,
  start = (low + high) / 2,
): number {
  if (at(low).value >= 0) return low
  if (at(high).value <= 0) return high
  let below = low
  let above = high
  let x = Math.min(Math.max(start, low), high)
  for (let step = 0; step < 200; step += 1) {
    const { value, slope } = at(x)
    if (value === 0) return x
    if (value < 0) below = x
    else above = x
    const newton = x - value / slope
    const next = newton > below && newton < above ? newton : (below + above) / 2
    if (Math.abs(next - x) <= precision) return next
    x = next
  }
  return x
}

/** A symmetric matrix, row after row, n × n. */
export type Matrix = Float64Array

/** Lower triangle L of a symmetric positive definite matrix, A = L Lᵀ, or undefined where it is not one. */
export function cholesky(a: Matrix, n: number): Matrix | undefined {
  const l = new Float64Array(n * n)
  for (let i = 0; i < n; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = a[i * n + j] as number
      for (let k = 0; k < j; k += 1) sum -= (l[i * n + k] as number) * (l[j * n + k] as number)
      if (i > j) l[i * n + j] = sum / (l[j * n + j] as number)
      else if (sum > 0) l[i * n + i] = Math.sqrt(sum)
      else return undefined
    }
  }
  return l
}

/** Solves L Lᵀ x = b. */
export function solveWith(l: Matrix, n: number, b: Float64Array): Float64Array {
  const x = Float64Array.from(b)
  for (let i = 0; i < n; i += 1) {
    let sum = x[i] as number
    for (let k = 0; k < i; k += 1) sum -= (l[i * n + k] as number) * (x[k] as number)
    x[i] = sum / (l[i * n + i] as number)
  }
  for (let i = n - 1; i >= 0; i -= 1) {
    let sum = x[i] as number
    for (let k = i + 1; k < n; k += 1) sum -= (l[k * n + i] as number) * (x[k] as number)
    x[i] = sum / (l[i * n + i] as number)
  }
  return x
}

/** Inverse of L Lᵀ, column by column. */
export function inverseOf(l: Matrix, n: number): Matrix {
  const inverse = new Float64Array(n * n)
  for (let j = 0; j < n; j += 1) {
    const unit = new Float64Array(n)
    unit[j] = 1
    const column = solveWith(l, n, unit)
    for (let i = 0; i < n; i += 1) inverse[i * n + j] = column[i] as number
  }
  return inverse
}

/** The cell for which House Rules state a life; others start in proportion to their volume. */
const referenceCell = 'CR2450'

/**
 * Widest that a fleet's lives stray from what House Rules expect, as standard deviations of ln η. Choices, stated here
 * once.
 */
const spread = {
  /** Of one cell type against its volume: makers and chemistries differ by a third. */
  cell: 0.3,
  /** Of one reporting interval against the straight line in ln(interval): a report is not all that drains a cell. */
  interval: 0.2,
  /** Of the line's slope. A cell drained by reports alone has slope 1, one drained by rest alone 0. */
  slope: 0.3,
  /** Of a cell type or interval that is not recorded. */
  unknown: 0.4,
} as const
const expectedSlope = 0.5

/** What decides how long a cell lasts, as far as it is recorded. */
export interface LifeCondition {
  readonly cell: string | null
  readonly reportEveryS: number | null
}

/**
 * What is believed about ln η before the record is looked at: a mean for each condition, how two conditions vary
 * together (so that what one shows moves the other), and about ln β.
 */
export interface LifePrior {
  readonly meanLnLife: (condition: LifeCondition) => number
  readonly covariance: (one: LifeCondition, other: LifeCondition) => number
  readonly meanLnShape: number
  readonly sdLnShape: number
}

/** Cell types are compared without regard to case and spaces. */
export const cellKey = (cell: string | null): string => (cell ?? '').replaceAll(/\s/g, '').toUpperCase()

/**
 * Volume of a round coin cell from its size code: the digits are the diameter in mm (two digits) and the height in
 * tenths of a mm, so CR2450 is 24 mm by 5.0 mm. In mm³; undefined for any other name.
 * Source: the designation system of IEC 60086-1 (from memory).
 */
export function coinCellVolume(cell: string | null): number | undefined {
  const size = /^[A-Z]{1,2}(\d{2})(\d{2})[A-Z]*$/.exec(cellKey(cell))
  if (!size) return undefined
  const diameter = Number(size[1])
  const height = Number(size[2]) / 10
  const volume = (Math.PI / 4) * diameter * diameter * height
  return volume > 0 ? volume : undefined
}

/**
 * The House Rules as a prior:
 *   ln η = ln life + ln(volume / volume of CR2450) + γ ln(interval / reference interval) + departures,
 * with independent normal terms: one of the whole fleet, one of each cell type, γ around 0.5, one of each condition.
 * The fleet's term and ln β weigh as much as the stated number of deaths: a Weibull sample of n deaths knows ln η to
 * 1/(β √n) and ln β to √(6/π²)/√n, so their standard deviations are 1/(β √n₀) and 0.780/√n₀.
 *
 * Why this and not one law per interval: a fleet has one or two common intervals and a few rare ones. The shared terms
 * let a rare interval, or one never seen, take its life from the common ones; its own departure lets it go its own way
 * once it has deaths of its own. All of it fades as deaths come in, since the record's weight grows with their number.
 *
 * Source of the sampling variances: Bain and Engelhardt, Statistical Analysis of Reliability and Life-Testing Models
 * (from memory).
 */
export function houseRulesPrior(rules: HouseRules): LifePrior {
  const referenceVolume = coinCellVolume(referenceCell) as number
  const varFleet = 1 / (rules.batteryShape * rules.batteryShape * rules.batteryLifePriorDeaths)
  const distance = ({ reportEveryS }: LifeCondition) =>
    reportEveryS === null ? 0 : Math.log(reportEveryS / rules.batteryIntervalS)
  const same = (one: LifeCondition, other: LifeCondition) => cellKey(one.cell) === cellKey(other.cell)
  const sameCondition = (one: LifeCondition, other: LifeCondition) =>
    same(one, other) && one.reportEveryS === other.reportEveryS
  return {
    meanLnLife: (condition) =>
      Math.log(rules.batteryLifeDays) +
      Math.log((coinCellVolume(condition.cell) ?? referenceVolume) / referenceVolume) +
      expectedSlope * distance(condition),
    covariance: (one, other) => {
      let sum = varFleet + spread.slope ** 2 * distance(one) * distance(other)
      if (same(one, other)) sum += spread.cell ** 2 + (coinCellVolume(one.cell) === undefined ? spread.unknown ** 2 : 0)
      if (sameCondition(one, other)) sum += spread.interval ** 2 + (one.reportEveryS === null ? spread.unknown ** 2 : 0)
      return sum
    },
    meanLnShape: Math.log(rules.batteryShape),
    sdLnShape: Math.sqrt(6) / Math.PI / Math.sqrt(rules.batteryShapePriorDeaths),
  }
}

/**
 * One cell type at one reporting interval (the shortest recorded of its band): its law of life after the record has
 * been weighed against the House Rules.
 */
export interface StratumLaw extends WeibullLaw, LifeCondition {
  readonly lives: number
  /** Deaths that count; not whole where low swaps count in part. */
  readonly deaths: number
}

export interface LifeModel {
  readonly shape: number
  readonly strata: readonly StratumLaw[]
  /** The law for a condition; undefined when it was neither among the lives nor asked for. */
  readonly lawFor: (condition: LifeCondition) => StratumLaw | undefined
}

/**
 * Intervals within a fifth of each other share a stratum, so that a fleet of odd settings does not get a law for each.
 */
const bandsPerOctave = 4
const bandOf = (reportEveryS: number | null): number | null =>
  reportEveryS === null ? null : Math.round(Math.log2(reportEveryS) * bandsPerOctave)
const keyOf = (condition: LifeCondition): string => `${cellKey(condition.cell)}|${bandOf(condition.reportEveryS) ?? ''}`

/** The model that some laws make together; `shape` is that of all of them. */
export function lifeModelOf(strata: readonly StratumLaw[], shape = strata[0]?.shape ?? Number.NaN): LifeModel {
  const laws = new Map(strata.map((law) => [keyOf(law), law]))
  return { shape, strata, lawFor: (condition) => laws.get(keyOf(condition)) }
}

interface Stratum {
  readonly condition: LifeCondition
  shortestS: number | null
  readonly meanLn: number
  lives: number
  deaths: number
  /** Σ of ln(t / prior life) over the deaths. */
  logSum: number
  /** ln(t / prior life) of every life. */
  readonly logs: number[]
}

/** Σ t^β, Σ t^β ln t and Σ t^β ln² t, t relative to the prior life. */
interface Powers {
  readonly s0: number
  readonly s1: number
  readonly s2: number
}

const shapeRange = { min: 0.3, max: 40 }

function gather(
  lives: readonly CellLife[],
  alsoFor: readonly LifeCondition[],
  prior: LifePrior,
  lowShare: number,
): Map<string, Stratum> {
  const strata = new Map<string, Stratum>()
  const keys = new Map<string, Map<number | null, string>>()
  const at = (condition: LifeCondition): Stratum => {
    // A fleet has thousands of lives under few conditions: remember each one's key.
    const cell = condition.cell ?? ''
    const byInterval = keys.get(cell) ?? new Map<number | null, string>()
    keys.set(cell, byInterval)
    const key = byInterval.get(condition.reportEveryS) ?? keyOf(condition)
    byInterval.set(condition.reportEveryS, key)
    let stratum = strata.get(key)
    if (stratum === undefined) {
      const band = bandOf(condition.reportEveryS)
      // The band's middle, not the first life's own interval, so that the order of the lives does not matter.
      const middle = {
        cell: cellKey(condition.cell) || null,
        reportEveryS: band === null ? null : 2 ** (band / bandsPerOctave),
      }
      stratum = {
        condition: middle,
        shortestS: condition.reportEveryS,
        meanLn: prior.meanLnLife(middle),
        lives: 0,
        deaths: 0,
        logSum: 0,
        logs: [],
      }
      strata.set(key, stratum)
    }
    if (condition.reportEveryS !== null && condition.reportEveryS < (stratum.shortestS ?? 0))
      stratum.shortestS = condition.reportEveryS
    return stratum
  }
  for (const life of lives) {
    const stratum = at(life)
    const log = Math.log(life.days) - stratum.meanLn
    const share = life.died ? 1 : life.endedBy === 'low' ? lowShare : 0
    stratum.lives += 1
    stratum.deaths += share
    stratum.logSum += share * log
    stratum.logs.push(log)
  }
  for (const condition of alsoFor) at(condition)
  return strata
}

function powersOf(logs: readonly number[], shape: number): Powers {
  let s0 = 0
  let s1 = 0
  let s2 = 0
  for (const log of logs) {
    const power = Math.exp(shape * log)
    s0 += power
    s1 += power * log
    s2 += power * log * log
  }
  return { s0, s1, s2 }
}

/**
 * Departures φ = ln η - prior mean of every stratum that maximise the penalised likelihood at one shape: a concave
 * problem, by Newton with halved steps, until no departure moves by more than 1e-10 (at most 100 steps).
 * Returns with them the Cholesky factor of the precision there.
 */
function departures(
  strata: readonly Stratum[],
  powers: readonly Powers[],
  priorPrecision: Matrix,
  shape: number,
  start: Float64Array,
): { phi: Float64Array; factor: Matrix } {
  const n = strata.length
  let phi = start
  const objective = (at: Float64Array) => {
    let sum = 0
    for (let i = 0; i < n; i += 1) {
      const x = at[i] as number
      sum -= shape * (strata[i] as Stratum).deaths * x + (powers[i] as Powers).s0 * Math.exp(-shape * x)
      for (let j = 0; j < n; j += 1) sum -= 0.5 * x * (priorPrecision[i * n + j] as number) * (at[j] as number)
    }
    return sum
  }
  let value = objective(phi)
  for (let step = 0; ; step += 1) {
    const precision = Float64Array.from(priorPrecision)
    const gradient = new Float64Array(n)
    for (let i = 0; i < n; i += 1) {
      const expected = (powers[i] as Powers).s0 * Math.exp(-shape * (phi[i] as number))
      let pull = 0
      for (let j = 0; j < n; j += 1) pull += (priorPrecision[i * n + j] as number) * (phi[j] as number)
      gradient[i] = shape * (expected - (strata[i] as Stratum).deaths) - pull
      precision[i * n + i] = (precision[i * n + i] as number) + shape * shape * expected
    }
    const factor = cholesky(precision, n)
    if (factor === undefined) throw new RangeError('the precision of a prior plus a likelihood is positive definite')
    const move = solveWith(factor, n, gradient)
    if (step === 100 || move.every((by) => Math.abs(by) < 1e-10)) return { phi, factor }
    for (let scale = 1; ; scale /= 2) {
      const next = phi.map((x, i) => x + scale * (move[i] as number))
      const nextValue = objective(next)
      if (nextValue >= value || scale < 1e-6) {
        phi = next
        value = nextValue
        break
      }
    }
  }
}

/**
 * The laws of life of a fleet's cells: for each stratum (cell type and reporting interval, in bands of a fifth) a
 * Weibull characteristic life, with one shape for the fleet, at the maximum of likelihood times prior (MAP). Censored
 * lives count as in `fitWeibull`; with a vanishing prior and one stratum the result is the same. Without a single death
 * it still answers: the prior, lengthened by what the censored lives have outlasted.
 *
 * Method: for a given shape the lives are a concave problem; the outer derivative in ln β is then, by the envelope
 * theorem, the partial one, and its root is found in ln 0.3 to ln 40 to 1e-9 (`risingRoot`). Covariance of (ln η, ln β)
 * is the inverse of the joint Hessian there (Laplace's approximation).
 *
 * lives: days more than 0. alsoFor: further conditions that need a law, such as those of cells put in today.
 * lowShare: 0 to 1, how far a low swap counts as a death (House Rules, lowCellDeathPercent / 100).
 * Errors: none for these inputs; contradictory histories are `cellLives`' matter.
 * Source: penalised likelihood and Laplace's approximation as in Gelman et al., Bayesian Data Analysis, ch. 4 and 13
 * (from memory).
 */
export function fitLifeModel(
  lives: readonly CellLife[],
  alsoFor: readonly LifeCondition[],
  prior: LifePrior,
  lowShare = 0,
): LifeModel {
  const byKey = gather(lives, alsoFor, prior, lowShare)
  // In the order of their keys, so that the order of the lives leaves no trace.
  const keys = [...byKey.keys()].sort()
  const strata = keys.map((key) => byKey.get(key) as Stratum)
  const n = strata.length
  const covariance = new Float64Array(n * n)
  strata.forEach(({ condition: one }, i) => {
    strata.forEach(({ condition: other }, j) => {
      covariance[i * n + j] = prior.covariance(one, other)
    })
  })
  const priorFactor = cholesky(covariance, n)
  if (priorFactor === undefined) throw new RangeError('the prior covariance of the strata is not positive definite')
  const priorPrecision = inverseOf(priorFactor, n)
  const priorPrecisionShape = 1 / (prior.sdLnShape * prior.sdLnShape)

  const solve = (lnShape: number) => {
    const shape = Math.exp(lnShape)
    const powers = strata.map(({ logs }) => powersOf(logs, shape))
    const start = Float64Array.from(strata, ({ deaths }, i) => {
      const { s0 } = powers[i] as Powers
      return s0 === 0 ? 0 : deaths > 0 ? Math.log(s0 / deaths) / shape : Math.max(0, Math.log(s0) / shape)
    })
    const { phi, factor } = departures(strata, powers, priorPrecision, shape, start)
    let slope = -(lnShape - prior.meanLnShape) * priorPrecisionShape
    let bend = priorPrecisionShape
    const cross = new Float64Array(n)
    strata.forEach(({ deaths, logSum }, i) => {
      const { s0, s1, s2 } = powers[i] as Powers
      const x = phi[i] as number
      const e = Math.exp(-shape * x)
      const sumZE = shape * e * (s1 - x * s0)
      const sumZZE = shape * shape * e * (s2 - 2 * x * s1 + x * x * s0)
      const sumZOfDeaths = shape * (logSum - deaths * x)
      slope += deaths + sumZOfDeaths - sumZE
      bend += sumZE + sumZZE - sumZOfDeaths
      cross[i] = -shape * (s0 * e - deaths + sumZE)
    })
    const through = solveWith(factor, n, cross)
    // At the maximum this is positive; on the way there the prior's own curvature keeps the step finite.
    const precisionOfShape = Math.max(
      bend - cross.reduce((sum, c, i) => sum + c * (through[i] as number), 0),
      priorPrecisionShape,
    )
    return { shape, phi, factor, slope, through, precisionOfShape }
  }
  const lnShape = risingRoot(
    (k) => {
      const { slope, precisionOfShape } = solve(k)
      return { value: -slope, slope: precisionOfShape }
    },
    Math.log(shapeRange.min),
    Math.log(shapeRange.max),
    1e-9,
    prior.meanLnShape,
  )

  const { shape, phi, factor, through, precisionOfShape } = solve(lnShape)
  const varLnShape = 1 / precisionOfShape
  const covarianceAtShape = inverseOf(factor, n)
  const laws = strata.map(({ condition, shortestS, meanLn, deaths, lives: count }, i): StratumLaw => {
    const lean = through[i] as number
    return {
      cell: condition.cell,
      reportEveryS: shortestS,
      lives: count,
      deaths,
      lifeDays: Math.exp(meanLn + (phi[i] as number)),
      shape,
      varLnShape,
      varLnLife: (covarianceAtShape[i * n + i] as number) + lean * lean * varLnShape,
      covLnLifeLnShape: -lean * varLnShape,
    }
  })
  return lifeModelOf(laws, shape)
}
