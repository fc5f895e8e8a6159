import type { Expression, ExpressionBuilder, SqlBool } from 'kysely'
import { type FleetPlaces, headYardFt, inCouplingOrder } from '#core/store/fleet-places.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { scaleTickets } from '#core/store/placed.ts'
import { among, walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'

/** Which readings are asked about. */
export type OnReadings = (eb: ExpressionBuilder<Schema & { r: Schema['reading'] }, 'r'>) => Expression<SqlBool>

/**
 * The units that stood in the combination of each reading: those on its ticket, those of its pressures, and those that
 * stood there without a pressure of their own; some of them more than once. This is the one place that says so.
 */
function* namedUnits(
  { db, raw }: Store,
  places: FleetPlaces,
  which: OnReadings,
): Generator<readonly [readingId: number, unitId: number]> {
  const onTickets = db
    .selectFrom('reading as r')
    .innerJoin('ticket_weight as w', 'w.ticket_id', 'r.ticket_id')
    .select(['r.id', 'w.unit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('w.id')
  yield* walk<[number, number]>(raw, onTickets)
  const read = db
    .selectFrom('reading as r')
    .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
    .select(['p.reading_id', 'p.circuit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('p.circuit_id')
  for (const [readingId, circuitId] of walk<[number, number]>(raw, read)) {
    const place = places.circuits.get(circuitId)
    if (place) yield [readingId, place.unitId]
  }
  const unread = db
    .selectFrom('reading as r')
    .innerJoin('reading_unit as u', 'u.reading_id', 'r.id')
    .select(['u.reading_id', 'u.unit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('u.unit_id')
  yield* walk<[number, number]>(raw, unread)
}

/** The units of each reading in coupling order. */
export function unitsOfReadings(store: Store, places: FleetPlaces, which: OnReadings): Map<number, number[]> {
  const named = new Map<number, number[]>()
  for (const [readingId, unitId] of namedUnits(store, places, which)) {
    const units = named.get(readingId)
    if (!units) named.set(readingId, [unitId])
    else if (!units.includes(unitId)) units.push(unitId)
  }
  for (const [readingId, units] of named) named.set(readingId, inCouplingOrder(units, places))
  return named
}

/**
 * The ids of readings that note a lift state which is about a lift axle on record: one of the units that stood there
 * has one. Some of them more than once.
 */
export function* readingsWithLift(store: Store, places: FleetPlaces, which: OnReadings): Generator<number> {
  if (!places.anyLift) return
  const stated: OnReadings = (eb) => eb.and([eb('r.lift', 'in', ['raised', 'lowered']), which(eb)])
  for (const [readingId, unitId] of namedUnits(store, places, stated)) if (places.liftUnits.has(unitId)) yield readingId
}

/**
 * Elevation of the yard of the unit at the head, ft, for those readings among some that neither note their own
 * elevation nor belong to a ticket of a scale whose elevation is known.
 */
export function headYardsOf(store: Store, places: FleetPlaces, which: OnReadings): Map<number, number> {
  const yards = new Map<number, number>()
  if (!places.anyYardFt) return yards
  const onKnownScale = scaleTickets(store.db).select('t.id').where('s.elevation_ft', 'is not', null)
  const lost: OnReadings = (eb) =>
    eb.and([
      eb('r.elevation_ft', 'is', null),
      eb.or([eb('r.ticket_id', 'is', null), eb('r.ticket_id', 'not in', onKnownScale)]),
      which(eb),
    ])
  for (const [readingId, units] of unitsOfReadings(store, places, lost)) {
    const yardFt = headYardFt(units, places)
    if (yardFt !== null) yards.set(readingId, yardFt)
  }
  return yards
}

/** Units that ever stood on a ticket with one of some units; these among them, where they stood on any. */
export function besideUnits(db: Reader, unitIds: readonly number[]) {
  const theirs = db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', among(unitIds))
  return db.selectFrom('ticket_weight').select('unit_id').distinct().where('ticket_id', 'in', theirs)
}

/** The same, looked up. */
export const unitsBeside = ({ db, raw }: Pick<Store, 'db' | 'raw'>, unitIds: readonly number[]): number[] =>
  Array.from(walk<[number]>(raw, besideUnits(db, unitIds)), ([unitId]) => unitId)
