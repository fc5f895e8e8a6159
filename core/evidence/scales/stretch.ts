import type { Observation } from '#core/evidence/history.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { type TemperatureEffect, atReference } from '#core/evidence/state/temperature.ts'
import { shareOf } from '#core/line/track.ts'

/** A line with what tested it, and the group whose it is. */
export interface GroupLife {
  readonly groupId: number
  readonly life: LineLife
  /** How its pressures follow the weather at a time, ms; undefined, or left out, where nothing says. */
  readonly weatherAt?: (at: number) => TemperatureEffect | undefined
}

/** One weighing of a group, in numbers alone. */
export interface StretchWeighing {
  readonly scaleId: number
  /** ms */
  readonly at: number
  /** Where its pressure lies between the line's empty and limit pressure. */
  readonly share: number
  /** What the line reads, lb: what a scale's gain is a share of. */
  readonly lineLb: number
  /** Ticket weight less what the line reads, lb. */
  readonly missLb: number
  /** Variance of the ticket and the pressure together, lb². */
  readonly varLb2: number
}

/** Weighings of one group between work on record, in the order of time: its line is one, and wanders. */
export interface Stretch {
  readonly groupId: number
  /** What wandering adds in a millisecond to the variance of the weight at either end, lb². */
  readonly wanderLb2PerMs: number
  readonly weighings: readonly StretchWeighing[]
}

/** As it is where nothing says how a pressure follows the weather. */
const noWeather: TemperatureEffect = { psiPerDegree: 0, u: 0, probability: 0 }

/**
 * The weighings of a life up to the work that broke it: the calibration's points and the checks. The line and its
 * history are let go, since those of a large fleet fill the memory. Pressures are brought to one temperature, so that a
 * season passes for no scale; the line of the points stays as it was read, which takes one and the same from all
 * misses.
 */
export function stretchOf({ groupId, life, weatherAt }: GroupLife, wanderLb2PerMs: number): Stretch {
  const { line, checks, emptyPsi, limitPsi, brokenAt } = life
  const { a, b } = line.fit
  const until = brokenAt ?? Number.POSITIVE_INFINITY
  const weighings: StretchWeighing[] = []
  const add = (scaleId: number, observation: Observation, psiRead: number, weightLb: number, varRead: number) => {
    const { takenAt: at, temperatureF } = observation
    const { psi, variance } = atReference(weatherAt?.(at) ?? noWeather, psiRead, temperatureF)
    const varLb2 = varRead + b * b * variance
    const lineLb = a + b * psi
    if (!(weightLb > 0 && lineLb > 0 && varLb2 > 0 && at < until)) return
    weighings.push({ scaleId, at, share: shareOf(psi, emptyPsi, limitPsi), lineLb, missLb: weightLb - lineLb, varLb2 })
  }
  for (const { x, y, ux, uy, observation, scaleId } of line.points)
    add(scaleId, observation, x, y, (uy * uy + (b * ux) ** 2) * line.widenedBy ** 2)
  for (const { observation, psi, varLb2 } of checks)
    add(observation.scaleId, observation, psi, observation.weightLb, varLb2)
  return { groupId, wanderLb2PerMs, weighings: weighings.sort((one, other) => one.at - other.at) }
}
