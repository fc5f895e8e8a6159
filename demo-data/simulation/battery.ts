import type { BatteryReason } from '#core/words/vocabulary.ts'
import { atLocal, dayMs, monthMs } from './clock.ts'
import type { Random } from './random.ts'
import type { Sensor } from './sensor.ts'

export interface BatteryChange {
  readonly at: number
  readonly reason: BatteryReason
}

/** Lives of coin cells follow a Weibull law; the scale in months falls with the reporting interval. */
const lifeShape = 4.5
const lifeMonths = (reportEveryS: number): number =>
  reportEveryS <= 120 ? 11 : reportEveryS <= 300 ? 19 : reportEveryS <= 600 ? 26 : 33

const inShopHours = (at: number, random: Random): number =>
  atLocal(Math.floor(at / dayMs) * dayMs, random.between(7, 17))

/** How long a drawn cell lasts, ms. */
export const cellLifeMs = (sensor: Sensor, random: Random): number =>
  random.weibull(lifeShape, lifeMonths(sensor.reportEveryS)) * monthMs

/**
 * The cells of one sensor from its mounting on: most are changed when the sensor reports a low cell, some die on the
 * road and wait some days for a new one, and those found old at a service visit are changed on schedule. `silent` are
 * the spans without a cell; `dieOnRoad` is the share that dies before anyone looks.
 */
export function cellHistory(
  sensor: Sensor,
  from: number,
  until: number,
  visits: readonly number[],
  dieOnRoad: number,
  random: Random,
) {
  const changes: BatteryChange[] = [{ at: from, reason: 'new' }]
  const silent: { readonly from: number; readonly until: number }[] = []
  for (let start = from; ; ) {
    const life = cellLifeMs(sensor, random)
    const dies = start + life
    const begun = start
    const visit = visits.find((at) => at > begun + 0.72 * lifeMonths(sensor.reportEveryS) * monthMs && at < dies)
    const low = inShopHours(start + life * random.between(0.9, 0.98), random)
    if (visit !== undefined && visit < low) {
      changes.push({ at: visit, reason: 'scheduled' })
      start = visit
    } else if (!random.chance(dieOnRoad)) {
      changes.push({ at: low, reason: 'low' })
      start = low
    } else {
      const found = Math.min(
        inShopHours(dies + random.between(1, 6) * dayMs, random),
        visits.find((at) => at > dies) ?? Number.POSITIVE_INFINITY,
      )
      changes.push({ at: found, reason: 'dead' })
      silent.push({ from: dies, until: found })
      start = found
    }
    if (start >= until) break
  }
  return { changes: changes.filter(({ at }) => at < until), silent: silent.filter(({ from: at }) => at < until) }
}
