import { liftOfUnit } from '#core/evidence/lift.ts'
import type { Expression, ExpressionBuilder, SqlBool } from 'kysely'
import { type FleetPlaces, headYardFt, inCouplingOrder } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { scaleTickets } from '#core/store/placed.ts'
import { walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** Which readings are asked about. */
export type OnReadings = (eb: ExpressionBuilder<Schema & { r: Schema['reading'] }, 'r'>) => Expression<SqlBool>

/**
 * The units that stood in the combination of each reading, in coupling order: those on its ticket, those of its
 * pressures, and those that stood there without a pressure of their own. This is the one place that says so.
 */
export function unitsOfReadings({ db, raw }: Store, places: FleetPlaces, which: OnReadings): Map<number, number[]> {
  const named = new Map<number, number[]>()
  const add = (readingId: number, unitId: number) => {
    const units = named.get(readingId)
    if (!units) named.set(readingId, [unitId])
    else if (!units.includes(unitId)) units.push(unitId)
  }
  const onTickets = db
    .selectFrom('reading as r')
    .innerJoin('ticket_weight as w', 'w.ticket_id', 'r.ticket_id')
    .select(['r.id', 'w.unit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('w.id')
  for (const [readingId, unitId] of walk<[number, number]>(raw, onTickets)) add(readingId, unitId)
  const read = db
    .selectFrom('reading as r')
    .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
    .select(['p.reading_id', 'p.circuit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('p.circuit_id')
  for (const [readingId, circuitId] of walk<[number, number]>(raw, read)) {
    const place = places.circuits.get(circuitId)
    if (place) add(readingId, place.unitId)
  }
  const unread = db
    .selectFrom('reading as r')
    .innerJoin('reading_unit as u', 'u.reading_id', 'r.id')
    .select(['u.reading_id', 'u.unit_id'])
    .where(which)
    .orderBy('r.id')
    .orderBy('u.unit_id')
  for (const [readingId, unitId] of walk<[number, number]>(raw, unread)) add(readingId, unitId)
  for (const [readingId, units] of named) named.set(readingId, inCouplingOrder(units, places))
  return named
}

/** Readings that note a lift state which is about a lift axle on record, with the units that have one. */
export function liftUnitsOf(store: Store, places: FleetPlaces, which: OnReadings): Map<number, readonly number[]> {
  const noted = new Map<number, readonly number[]>()
  if (!places.hasLifts) return noted
  const stated: OnReadings = (eb) => eb.and([eb('r.lift', 'in', ['raised', 'lowered']), which(eb)])
  for (const [readingId, units] of unitsOfReadings(store, places, stated)) {
    const own = units.filter((unitId) => places.isLiftUnit(unitId))
    if (own.length > 0) noted.set(readingId, own)
  }
  return noted
}

/** The lift state of a reading for a unit, of those that `liftUnitsOf` found. */
export function liftOfReading(
  noted: LiftState | null,
  unitId: number,
  withLift: readonly number[] = [],
): LiftState | null {
  return liftOfUnit(noted, withLift.includes(unitId), withLift.length > 0)
}

/**
 * Elevation of the yard of the unit at the head, ft, for those readings among some that neither note their own
 * elevation nor belong to a ticket of a scale whose elevation is known.
 */
export function headYardsOf(store: Store, places: FleetPlaces, which: OnReadings): Map<number, number> {
  const yards = new Map<number, number>()
  if (!places.hasYardElevations) return yards
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
