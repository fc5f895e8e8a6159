import { setImmediate } from 'node:timers/promises'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { readFiguresToWeigh, readWeighSource } from '#core/store/weigh-facts.ts'
import { among } from '#core/store/rows.ts'
import { type Stood, batchesOf } from '#core/store/weighing-batches.ts'
import { type ReadingOfUnits, idStretches, readReadings, unitsInReadings } from '#core/store/weighing-slices.ts'
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

/** Readings held at once, with what is made of them. */
const readAtOnce = 1000

export interface WhichReadings {
  /** Readings up to a moment (ms UTC), by what was known at it; left out, all. */
  readonly asOf?: number | undefined
  /** Units made ready at once, as `batchesOf` has it. */
  readonly unitsAtOnce?: number
}

function* everyReading(store: Store, places: FleetPlaces, asOf: number | undefined): Generator<Stood> {
  const until = asOf === undefined ? null : toStoredInstant(asOf)
  for (const { from, to } of idStretches(store, 'reading', readAtOnce))
    yield* unitsInReadings(store, places, (eb) => {
      const within = eb.between('r.id', from, to)
      return until === null ? within : eb.and([within, eb('r.taken_at', '<=', until)])
    })
}

/**
 * Weighs every reading of the record and hands on what `make` makes of each: of some units after the other, so that
 * little of a large fleet is held at once.
 */
export async function* weighEach<T>(
  store: Store,
  make: (weighed: WeighedReading) => T,
  { asOf, unitsAtOnce }: WhichReadings = {},
): AsyncGenerator<readonly T[]> {
  const places = readFleetPlaces(store)
  const figures = await readFiguresToWeigh(store, { asOf })
  for (const { unitIds, weighings } of batchesOf(everyReading(store, places, asOf), unitsAtOnce)) {
    const fleet = weigher(await readWeighSource(store, { unitIds, tare: true, asOf, places, figures }))
    for (let from = 0; from < weighings.length; from += readAtOnce) {
      const units = new Map(weighings.slice(from, from + readAtOnce))
      const readings = readReadings(store, places, (eb) => eb('r.id', 'in', among([...units.keys()])), units)
      yield readings.map((reading) => make(weighOne(fleet, reading)))
      await setImmediate()
    }
  }
}
