import { type Columns, columnsOf, wanderOf } from '#core/evidence/state/columns.ts'
import { filterPass, roughPass } from '#core/evidence/state/passes.ts'
import type { LifeSeries } from '#core/evidence/state/series.ts'
import { stride } from '#core/evidence/state/sites.ts'

/** What the weighings of one life say about how its pressure follows the air's temperature, psi per °F. */
export interface TemperatureSign {
  readonly psiPerDegree: number
  /** Standard uncertainty; Infinity where the weighings say nothing. */
  readonly u: number
}

/** How a sensor follows the temperature once the fleet has been looked at. */
export interface TemperatureEffect {
  /** What to correct by, psi per °F; 0 where it is not sure that it follows at all. */
  readonly psiPerDegree: number
  readonly u: number
  /** Probability that it follows. */
  readonly probability: number
}

/** Pressures are brought to this temperature, °F; a choice near the middle of the year. */
export const referenceDegreesF = 60

/** Steps and drifts must not pass for weather: the line is let wander at least so fast, psi per root month. */
const freeWanderPsi = 0.25
/** So wide that it shrinks nothing: the shrinking is the fleet's to do. */
const wideP = 0.2
const fewestWeighings = 8

/**
 * The temperature coefficient of one life by the Kalman filter with the coefficient as a constant beside the two
 * weights: a pressure that reads c (T - 60 °F) high makes the line's weight there b c (T - 60 °F) too large. Weighings
 * without a temperature say nothing.
 *
 * Units psi, °F, lb. `degreesF` runs beside the points of the life. Range: none found (u Infinity) with fewer than
 * eight temperatures.
 */
export function temperatureSign(life: Columns, degreesF: readonly (number | null)[]): TemperatureSign {
  const { series, noise, priors } = life
  const places: number[] = []
  for (let place = 0; place < degreesF.length; place += 1) if (degreesF[place] !== null) places.push(place)
  if (places.length < fewestWeighings) return { psiPerDegree: 0, u: Number.POSITIVE_INFINITY }
  // Mostly every weighing has its temperature, and the columns of the life do.
  const read =
    places.length === life.size
      ? life
      : columnsOf(
          { ...series, points: places.map((place) => series.points[place] as LifeSeries['points'][number]) },
          noise,
          priors,
        )
  const columns: Columns = {
    ...read,
    ...wanderOf(series, { ...noise, wanderPsi: Math.max(noise.wanderPsi, freeWanderPsi) }),
  }
  const { size } = columns
  const effect = new Float64Array(size)
  for (let i = 0; i < size; i += 1)
    effect[i] = -series.slopeLbPerPsi * wideP * ((degreesF[places[i] as number] as number) - referenceDegreesF)
  const { pass, sites } = roughPass(size)
  const { state } = filterPass(columns, { jumps: null, effect }, columns.prior, false, sites, false, pass)
  const last = stride * (size - 1)
  const variance = state[last + 8] as number
  // The wide prior is taken out again.
  const information = 1 / variance - 1
  if (!(information > 1e-6)) return { psiPerDegree: 0, u: Number.POSITIVE_INFINITY }
  return {
    psiPerDegree: (wideP * (state[last + 2] as number)) / variance / information,
    u: wideP / Math.sqrt(information),
  }
}

const priorSensors = 5
const priorShare = 0.02
const usualPsiPerDegree = 0.02
const iterations = 30
const sureAt = 0.95

/** ln of a normal density about zero, up to a constant: far out the density itself is zero in every double. */
const logDensity = (value: number, variance: number): number => -0.5 * ((value * value) / variance + Math.log(variance))

/** How the sensors of a fleet follow the weather: how many do, and the spread (psi per °F) of those that do. */
export interface TemperaturePopulation {
  readonly share: number
  readonly spread: number
}

/** Probability that a sensor of a population follows, from its sign. */
function follows({ psiPerDegree, u }: TemperatureSign, { share, spread }: TemperaturePopulation): number {
  const logYes = Math.log(share) + logDensity(psiPerDegree, spread * spread + u * u)
  const logNo = Math.log1p(-share) + logDensity(psiPerDegree, u * u)
  return 1 / (1 + Math.exp(logNo - logYes))
}

/**
 * A sensor follows the weather with a probability, and then with a coefficient about zero of a spread; both learnt from
 * all signs by expectation and maximization, started and held by one sensor in fifty and 0.02 psi a degree, worth five
 * sensors (a choice).
 */
export function temperaturePopulation(signs: readonly TemperatureSign[]): TemperaturePopulation {
  const told = signs.filter(({ u }) => Number.isFinite(u))
  let population: TemperaturePopulation = { share: priorShare, spread: usualPsiPerDegree }
  for (let round = 0; round < iterations; round += 1) {
    let count = priorSensors * priorShare
    let squares = count * usualPsiPerDegree ** 2
    const variance = population.spread ** 2
    for (const sign of told) {
      const probability = follows(sign, population)
      const kept = variance / (variance + sign.u * sign.u)
      count += probability
      squares += probability * ((kept * sign.psiPerDegree) ** 2 + kept * sign.u * sign.u)
    }
    population = { share: count / (priorSensors + told.length), spread: Math.sqrt(squares / count) }
  }
  return population
}

/** The effect of one sensor, shrunk to none: corrected is only what follows the weather with 95 % probability. */
export function temperatureEffect(sign: TemperatureSign, population: TemperaturePopulation): TemperatureEffect {
  if (!Number.isFinite(sign.u)) return { psiPerDegree: 0, u: 0, probability: population.share }
  const probability = follows(sign, population)
  if (probability < sureAt) return { psiPerDegree: 0, u: 0, probability }
  const variance = population.spread ** 2
  const kept = variance / (variance + sign.u * sign.u)
  return { psiPerDegree: kept * sign.psiPerDegree, u: sign.u * Math.sqrt(kept), probability }
}

/** A pressure brought to 60 °F, and the variance that the coefficient's uncertainty adds, psi and psi². */
export function atReference(
  { psiPerDegree, u }: TemperatureEffect,
  psi: number,
  degreesF: number | null,
): { readonly psi: number; readonly variance: number } {
  if (degreesF === null) return { psi, variance: 0 }
  const degrees = degreesF - referenceDegreesF
  return { psi: psi - psiPerDegree * degrees, variance: (u * degrees) ** 2 }
}

/** A life with the pressures of its points brought to 60 °F; the life itself where nothing is to be corrected. */
export function seriesAtReference(
  series: LifeSeries,
  degreesF: readonly (number | null)[],
  effect: TemperatureEffect,
): LifeSeries {
  if (effect.psiPerDegree === 0) return series
  const b = series.slopeLbPerPsi
  const points = series.points.map((point, i) => {
    const { psi, variance } = atReference(effect, point.psi, degreesF[i] ?? null)
    return { ...point, psi, varOtherLb2: point.varOtherLb2 + b * b * variance }
  })
  const { slipsOf } = series
  if (slipsOf === undefined) return { ...series, points }
  const moved = (place: number) => (points[place]?.psi as number) - (series.points[place]?.psi as number)
  return {
    ...series,
    points,
    slipsOf: (place) => slipsOf(place).map((option) => ({ ...option, psi: option.psi + moved(place) })),
  }
}
