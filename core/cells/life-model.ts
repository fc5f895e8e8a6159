import { deathShare } from '#core/cells/death-share.ts'
import type { CellLife } from '#core/cells/lives.ts'
import type { WeibullLaw } from '#core/cells/survival.ts'
import { type Powers, powersOf, sumsAt } from '#core/cells/weibull-sums.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { at, sumOf } from '#core/words/lists.ts'

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
  valueAt: (x: number) => ValueAndSlope,
  low: number,
  high: number,
  precision: number,
  start = (low + high) / 2,
): number {
  if (valueAt(low).value >= 0) return low
  if (valueAt(high).value <= 0) return high
  let below = low
  let above = high
  let x = Math.min(Math.max(start, low), high)
  for (let step = 0; step < 200; step += 1) {
    const { value, slope } = valueAt(x)
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

/** A square matrix of a few rows. */
class Matrix {
  readonly size: number
  readonly #cells: Float64Array

  constructor(size: number, cellAt: (row: number, column: number) => number = () => 0) {
    this.size = size
    this.#cells = Float64Array.from({ length: size * size }, (_, i) => cellAt(Math.floor(i / size), i % size))
  }

  at(row: number, column: number): number {
    return at(this.#cells, row * this.size + column)
  }

  set(row: number, column: number, value: number): void {
    this.#cells[row * this.size + column] = value
  }
}

/** Lower triangle L of a symmetric positive definite matrix, A = L Lᵀ, or undefined where it is not one. */
function cholesky(a: Matrix): Matrix | undefined {
  const l = new Matrix(a.size)
  for (let i = 0; i < a.size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = a.at(i, j)
      for (let k = 0; k < j; k += 1) sum -= l.at(i, k) * l.at(j, k)
      if (i > j) l.set(i, j, sum / l.at(j, j))
      else if (sum > 0) l.set(i, i, Math.sqrt(sum))
      else return undefined
    }
  }
  return l
}

/** Solves L Lᵀ x = b. */
function solveWith(l: Matrix, b: readonly number[]): number[] {
  const x: number[] = []
  for (const [i, of] of b.entries()) x.push((of - sumOf(x, (each, k) => l.at(i, k) * each)) / l.at(i, i))
  for (let i = l.size - 1; i >= 0; i -= 1)
    x[i] = (at(x, i) - sumOf(x, (each, k) => (k > i ? l.at(k, i) * each : 0))) / l.at(i, i)
  return x
}

/** Inverse of L Lᵀ, column by column. */
function inverseOf(l: Matrix): Matrix {
  const columns = Array.from({ length: l.size }, (_, column) =>
    solveWith(
      l,
      Array.from({ length: l.size }, (__, row) => (row === column ? 1 : 0)),
    ),
  )
  return new Matrix(l.size, (row, column) => at(at(columns, column), row))
}

const cylinder = (diameter: number, height: number) => (Math.PI / 4) * diameter * diameter * height
/** Of the CR2450, for which House Rules state a life; others start in proportion to their volume. */
const referenceVolume = cylinder(24, 5)

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
const cellKey = (cell: string | null): string => (cell ?? '').replaceAll(/\s/g, '').toUpperCase()

/** A cell type as it is counted, ordered and priced: alike however it is written; null where none is recorded. */
export const cellTypeOf = (cell: string | null): string | null => cellKey(cell) || null

/**
 * Volume of a round coin cell from its size code: the digits are the diameter in mm (two digits) and the height in
 * tenths of a mm, so CR2450 is 24 mm by 5.0 mm. In mm³; undefined for any other name.
 * Source: the designation system of IEC 60086-1 (from memory).
 */
export function coinCellVolume(cell: string | null): number | undefined {
  const size = /^[A-Z]{1,2}(\d{2})(\d{2})[A-Z]*$/.exec(cellKey(cell))
  if (!size) return undefined
  const volume = cylinder(Number(size[1]), Number(size[2]) / 10)
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
  logSumOfDeaths: number
  /** ln(t / prior life) of every life. */
  readonly logs: number[]
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
  const stratumOf = (condition: LifeCondition): Stratum => {
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
        logSumOfDeaths: 0,
        logs: [],
      }
      strata.set(key, stratum)
    }
    if (condition.reportEveryS !== null && condition.reportEveryS < (stratum.shortestS ?? 0))
      stratum.shortestS = condition.reportEveryS
    return stratum
  }
  for (const life of lives) {
    const stratum = stratumOf(life)
    const log = Math.log(life.days) - stratum.meanLn
    const share = deathShare(life, lowShare)
    stratum.lives += 1
    stratum.deaths += share
    stratum.logSumOfDeaths += share * log
    stratum.logs.push(log)
  }
  for (const condition of alsoFor) stratumOf(condition)
  return strata
}

/**
 * Departures φ = ln η - prior mean of every stratum that maximise the penalised likelihood at one shape: a concave
 * problem, by Newton with halved steps, until no departure moves by more than 1e-10 (at most 100 steps).
 * Returns with them the Cholesky factor of the precision there.
 */
function departures(
  strata: readonly (Stratum & Powers)[],
  priorPrecision: Matrix,
  shape: number,
): { phi: number[]; factor: Matrix } {
  let phi = strata.map(({ deaths, s0 }) =>
    s0 === 0 ? 0 : deaths > 0 ? Math.log(s0 / deaths) / shape : Math.max(0, Math.log(s0) / shape),
  )
  /** How far the prior pulls the departure of a stratum back. */
  const pullOn = (i: number, of: readonly number[]) => sumOf(of, (x, j) => priorPrecision.at(i, j) * x)
  const objective = (of: readonly number[]) =>
    -sumOf(strata, ({ deaths, s0 }, i) => {
      const x = at(of, i)
      return shape * deaths * x + s0 * Math.exp(-shape * x) + 0.5 * x * pullOn(i, of)
    })
  let value = objective(phi)
  for (let step = 0; ; step += 1) {
    const expected = strata.map(({ s0 }, i) => s0 * Math.exp(-shape * at(phi, i)))
    const gradient = strata.map(({ deaths }, i) => shape * (at(expected, i) - deaths) - pullOn(i, phi))
    const factor = cholesky(
      new Matrix(strata.length, (i, j) => priorPrecision.at(i, j) + (i === j ? shape * shape * at(expected, i) : 0)),
    )
    if (factor === undefined) throw new RangeError('the precision of a prior plus a likelihood is positive definite')
    const move = solveWith(factor, gradient)
    if (step === 100 || move.every((by) => Math.abs(by) < 1e-10)) return { phi, factor }
    for (let scale = 1; ; scale /= 2) {
      const next = phi.map((x, i) => x + scale * at(move, i))
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
  const priorFactor = cholesky(
    new Matrix(strata.length, (i, j) => prior.covariance(at(strata, i).condition, at(strata, j).condition)),
  )
  if (priorFactor === undefined) throw new RangeError('the prior covariance of the strata is not positive definite')
  const priorPrecision = inverseOf(priorFactor)
  const priorPrecisionShape = 1 / (prior.sdLnShape * prior.sdLnShape)

  const solve = (lnShape: number) => {
    const shape = Math.exp(lnShape)
    const seen = strata.map((stratum) => ({ ...stratum, ...powersOf(stratum.logs, shape) }))
    const { phi, factor } = departures(seen, priorPrecision, shape)
    let slope = -(lnShape - prior.meanLnShape) * priorPrecisionShape
    let bend = priorPrecisionShape
    const cross = seen.map((stratum, i) => {
      const { scale, sumZE, sumZZE, sumZOfDeaths } = sumsAt(stratum, stratum, shape, at(phi, i))
      slope += stratum.deaths + sumZOfDeaths - sumZE
      bend += sumZE + sumZZE - sumZOfDeaths
      return -shape * (stratum.s0 * scale - stratum.deaths + sumZE)
    })
    const through = solveWith(factor, cross)
    // At the maximum this is positive; on the way there the prior's own curvature keeps the step finite.
    const precisionOfShape = Math.max(bend - sumOf(cross, (each, i) => each * at(through, i)), priorPrecisionShape)
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
  const covarianceAtShape = inverseOf(factor)
  const laws = strata.map(({ condition, shortestS, meanLn, deaths, lives: count }, i): StratumLaw => {
    const lean = at(through, i)
    return {
      cell: condition.cell,
      reportEveryS: shortestS,
      lives: count,
      deaths,
      lifeDays: Math.exp(meanLn + at(phi, i)),
      shape,
      varLnShape,
      varLnLife: covarianceAtShape.at(i, i) + lean * lean * varLnShape,
      covLnLifeLnShape: -lean * varLnShape,
    }
  })
  return lifeModelOf(laws, shape)
}
