import { columnsOf } from '#core/evidence/state/columns.ts'
import {
  type FleetLineNoise,
  type NoiseTeacher,
  learnLineNoise,
  learnPriors,
  lifeLesson,
} from '#core/evidence/state/learn.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import type { ChangePriors, LineNoise } from '#core/evidence/state/series.ts'
import {
  type TemperaturePopulation,
  seriesAtReference,
  temperatureEffect,
  temperaturePopulation,
  temperatureSign,
} from '#core/evidence/state/temperature.ts'

/** A life that teaches what the fleet is like. */
export interface FleetTeacher extends NoiseTeacher {
  /** Air temperature of each point, °F; null where none was noted. */
  readonly degreesF: readonly (number | null)[]
}

/** What all lives together say of the noise, the rates of trouble and the weather. */
export interface FleetFigures {
  readonly noise: FleetLineNoise
  readonly priors: ChangePriors
  readonly temperature: TemperaturePopulation
}

const rounds = 2
/** Lives in which a change is at least so probable teach no noise. */
const troubled = 0.2

/**
 * Learns the figures of a fleet from some of its lives: noise from those that look healthy, the weather with that
 * noise, then how often lines change, twice over. House Rules start it and stand in while the lives are few.
 *
 * Cost: give a few hundred lives, evenly chosen; some 300 filter passes over each.
 */
export function learnFleet(
  teachers: readonly FleetTeacher[],
  noiseRules: LineNoise,
  priorRules: ChangePriors,
): FleetFigures {
  let noise: FleetLineNoise = { fleet: noiseRules, kinds: new Map(), u: null, weighings: 0 }
  let priors = priorRules
  let temperature = temperaturePopulation([])
  let healthy: readonly FleetTeacher[] = teachers
  let corrected = teachers
  for (let round = 0; round < rounds; round += 1) {
    if (round === 0) noise = learnLineNoise(healthy, noiseRules, priors, 'first')
    const { fleet } = noise
    const signs = teachers.map(({ series, degreesF }) => temperatureSign(columnsOf(series, fleet, priors), degreesF))
    temperature = temperaturePopulation(signs)
    corrected = teachers.map((teacher, i) => {
      const effect = temperatureEffect(signs[i] as (typeof signs)[number], temperature)
      return { ...teacher, series: seriesAtReference(teacher.series, teacher.degreesF, effect) }
    })
    const states = corrected.map(({ series }) => lineState(series, noise.fleet, priors))
    healthy = corrected.filter((_, i) => {
      const [best] = states[i]?.stories ?? []
      const plain = states[i]?.stories.find(({ changes }) => changes.length === 0)
      return best !== undefined && plain !== undefined && plain.probability > 1 - troubled
    })
    noise = learnLineNoise(healthy, noiseRules, priors)
    priors = learnPriors(states.map(lifeLesson), priorRules)
  }
  return { noise, priors, temperature }
}
