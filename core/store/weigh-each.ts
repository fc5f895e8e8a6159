import { setImmediate } from 'node:timers/promises'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { timeNow } from '#core/store/clock.ts'
import { isAnyLoadAhead } from '#core/store/dated.ts'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import type { OnReadings } from '#core/store/reading-units.ts'
import { among, walk } from '#core/store/rows.ts'
import { readFiguresToWeigh, readWeighSource } from '#core/store/weigh-facts.ts'
import { type Stood, batchesOf } from '#core/store/weighing-batches.ts'
import { type ReadingOfUnits, idStretches, readReadings, unitsInReadings } from '#core/store/weighing-slices.ts'
import { type CombinationWeights, weighReading } from '#core/weight/combination-weights.ts'
import { readZone } from '#core/store/zone.ts'
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

/** Readings that are dated after a moment (ms UTC), or belong to a ticket that is. */
const datedAfter =
  (asOf: number): OnReadings =>
  (eb) =>
    eb.or([
      eb('r.taken_at', '>', toStoredInstant(asOf)),
      eb.exists(
        eb
          .selectFrom('ticket as t')
          .select('t.id')
          .whereRef('t.id', '=', 'r.ticket_id')
          .where('t.weighed_at', '>', toStoredInstant(asOf)),
      ),
    ])

/**
 * Up to when evidence counts for a reading on record (ms UTC), at a time: to the end of that day, as in what is stored;
 * undefined, all of it, where the reading is dated ahead itself.
 */
export async function evidenceUntil(store: Store, readingId: number, now = timeNow()): Promise<number | undefined> {
  const { db, raw } = store
  const asOf = judgedAt(now, await readZone(db))
  const ahead = db
    .selectFrom('reading as r')
    .select('r.id')
    .where('r.id', '=', readingId)
    .where((eb) => datedAfter(asOf)(eb))
  return [...walk(raw, ahead)].length > 0 ? undefined : asOf
}

/**
 * The reading of a name, weighed with its tare, by what was known at a moment (ms UTC; left out, by what counts now);
 * undefined when there is none of that name, or was none by then.
 */
export async function weighNamed(store: Store, name: string, asOf?: number): Promise<WeighedReading | undefined> {
  const places = lookUpPlaces(store)
  const [reading] = readReadings(store, places, (eb) => eb('r.name', '=', name))
  if (!reading || reading.takenAt > (asOf ?? Number.POSITIVE_INFINITY)) return undefined
  const { unitIds, readingId } = reading
  const until = asOf ?? (await evidenceUntil(store, readingId))
  const wanted = { unitIds, tare: true, asOf: until, asTaught: asOf !== undefined, places }
  return weighOne(weigher(await readWeighSource(store, wanted)), reading)
}

/** Readings held at once, with what is made of them. */
const readAtOnce = 1000

export interface WhichReadings {
  /** Readings up to a moment (ms UTC), by what was known at it; left out, all, as `evidenceUntil` has it. */
  readonly asOf?: number | undefined
  /** Units made ready at once, as `batchesOf` has it. */
  readonly unitsAtOnce?: number | undefined
}

function* someReadings(store: Store, places: FleetPlaces, which: OnReadings): Generator<Stood> {
  for (const { from, to } of idStretches(store, 'reading', readAtOnce))
    yield* unitsInReadings(store, places, (eb) => eb.and([eb.between('r.id', from, to), which(eb)]))
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
  if (asOf !== undefined) {
    const known: OnReadings = (eb) => eb('r.taken_at', '<=', toStoredInstant(asOf))
    yield* weighSome(store, make, known, { asOf, asTaught: true, unitsAtOnce })
    return
  }
  const now = judgedAt(timeNow(), await readZone(store.db))
  const isAhead = datedAfter(now)
  yield* weighSome(store, make, (eb) => eb.not(isAhead(eb)), { asOf: now, unitsAtOnce })
  if (await isAnyLoadAhead(store.db, now)) yield* weighSome(store, make, isAhead, { unitsAtOnce })
}

/** The same of some readings, by the evidence up to a moment, or by all. */
async function* weighSome<T>(
  store: Store,
  make: (weighed: WeighedReading) => T,
  which: OnReadings,
  { asOf, asTaught = false, unitsAtOnce }: WhichReadings & { readonly asTaught?: boolean },
): AsyncGenerator<readonly T[]> {
  const places = readFleetPlaces(store)
  const batches = batchesOf(someReadings(store, places, which), unitsAtOnce)
  if (batches.length === 0) return
  const figures = await readFiguresToWeigh(store, { asOf, asTaught })
  for (const { unitIds, weighings } of batches) {
    const fleet = weigher(await readWeighSource(store, { unitIds, tare: true, asOf, places, figures }))
    for (let from = 0; from < weighings.length; from += readAtOnce) {
      const units = new Map(weighings.slice(from, from + readAtOnce))
      const readings = readReadings(store, places, (eb) => eb('r.id', 'in', among([...units.keys()])), units)
      yield readings.map((reading) => make(weighOne(fleet, reading)))
      await setImmediate()
    }
  }
}
