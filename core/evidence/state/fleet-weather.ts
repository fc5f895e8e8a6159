import { columnsOf } from '#core/evidence/state/columns.ts'
import type { ChangePriors, LifeSeries, LineNoise } from '#core/evidence/state/series.ts'
import {
  type TemperatureEffect,
  type TemperatureSign,
  temperatureEffect,
  temperaturePopulation,
  temperatureSign,
} from '#core/evidence/state/temperature.ts'

/** A physical life of a group with the air temperature of each of its points, °F; null where none was noted. */
export interface WeatheredLife {
  readonly groupId: number
  readonly from: number
  readonly until: number
  readonly series: LifeSeries
  readonly degreesF: readonly (number | null)[]
}

/** How the pressures of a group follow the weather at a time, ms; undefined where no life of it says. */
export type WeatherOf = (groupId: number, at: number) => TemperatureEffect | undefined

/**
 * How the pressures of some groups follow the weather, learnt before anything else of the fleet is: lines that are all
 * calibrated in one season and checked in another would pass for scales that weigh otherwise. Of the lives of one time
 * (a lift axle up and down) the one counts that says most. Only numbers are kept of the lives.
 */
export function fleetWeather(lives: Iterable<WeatheredLife>, noise: LineNoise, priors: ChangePriors): WeatherOf {
  const signs: TemperatureSign[] = []
  const told = new Map<number, { readonly from: number; readonly until: number; readonly sign: TemperatureSign }[]>()
  for (const { groupId, from, until, series, degreesF } of lives) {
    const sign = temperatureSign(columnsOf(series, noise, priors), degreesF)
    if (!Number.isFinite(sign.u)) continue
    signs.push(sign)
    const own = told.get(groupId)
    if (own === undefined) told.set(groupId, [{ from, until, sign }])
    else own.push({ from, until, sign })
  }
  const population = temperaturePopulation(signs)
  const effects = new Map(
    Array.from(told, ([groupId, own]) => [
      groupId,
      own
        .toSorted((a, b) => a.sign.u - b.sign.u)
        .map(({ from, until, sign }) => ({ from, until, effect: temperatureEffect(sign, population) })),
    ]),
  )
  return (groupId, at) => effects.get(groupId)?.find(({ from, until }) => from <= at && at < until)?.effect
}
