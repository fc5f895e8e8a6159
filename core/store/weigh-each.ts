import { setImmediate } from 'node:timers/promises'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { readWeighSource } from '#core/store/weigh-facts.ts'
import { type ReadingOfUnits, idStretches, readReadings } from '#core/store/weighing-slices.ts'
import { type CombinationWeights, weighReading } from '#core/weight/combination-weights.ts'
import { type ReadyCombination, type Weigher, weigher } from '#core/weight/weigher.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** A reading of the record, weighed. */
export interface WeighedReading {
  readonly reading: ReadingOfUnits
  readonly ready: ReadyCombination
  readonly weights: CombinationWeights
}

const weighOne = (fleet: Weigher, reading: ReadingOfUnits): WeighedReading => {
  const ready = fleet.ready(reading.unitIds)
  return { reading, ready, weights: weighReading(ready, reading) }
}

/**
 * The reading of a name, weighed with its tare, by what was known at a moment (ms UTC; left out, now); undefined when
 * there is none of that name, or was none by then.
 */
export async function weighNamed(store: Store, name: string, asOf?: number): Promise<WeighedReading | undefined> {
  const places = lookUpPlaces(store)
  const [reading] = readReadings(store, places, (eb) => eb('r.name', '=', name))
  if (!reading || reading.takenAt > (asOf ?? Number.POSITIVE_INFINITY)) return undefined
  return weighOne(
    weigher(await readWeighSource(store, { unitIds: reading.unitIds, tare: true, asOf, places })),
    reading,
  )
}

/** Large enough for the readings of one combination to meet in a stretch, small enough to be held. */
const inStretch = 20_000

/** Places of readings, those of one combination side by side: what they share stays at hand. */
const byCombination = (readings: readonly ReadingOfUnits[]): number[] =>
  [...readings.keys()].sort((a, b) => (readings[a]?.unitIds[0] ?? 0) - (readings[b]?.unitIds[0] ?? 0))

export interface WhichReadings {
  /** Readings up to a moment (ms UTC), by what was known at it; left out, all. */
  readonly asOf?: number | undefined
  /** Readings held at once. */
  readonly stretch?: number
}

/**
 * Weighs every reading of the record in the order of their ids, a stretch at a time, and hands on what `make` makes of
 * each.
 */
export async function* weighEach<T>(
  store: Store,
  make: (weighed: WeighedReading) => T,
  { asOf, stretch = inStretch }: WhichReadings = {},
): AsyncGenerator<readonly T[]> {
  const places: FleetPlaces = readFleetPlaces(store)
  const fleet = weigher(await readWeighSource(store, { tare: true, asOf, places }))
  const until = asOf === undefined ? null : toStoredInstant(asOf)
  for (const { from, to } of idStretches(store, 'reading', stretch)) {
    const readings = readReadings(store, places, (eb) => {
      const within = eb.between('r.id', from, to)
      return until === null ? within : eb.and([within, eb('r.taken_at', '<=', until)])
    })
    const made = new Array<T>(readings.length)
    for (const place of byCombination(readings)) made[place] = make(weighOne(fleet, readings[place] as ReadingOfUnits))
    yield made
    await setImmediate()
  }
}
