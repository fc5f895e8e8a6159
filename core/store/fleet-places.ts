import type { Store } from '#core/store/open.ts'
import { placedCircuits } from '#core/store/placed.ts'
import { walk } from '#core/store/rows.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'

/** Whose pressure a circuit's is, and its place among the circuits of its group. */
interface CircuitPlace {
  readonly groupId: number
  readonly unitId: number
  readonly circuit: number
  readonly circuits: number
}

/** Where things stand in the fleet: what turns rows of the record into readings of combinations. */
export interface FleetPlaces {
  readonly circuits: ReadonlyMap<number, CircuitPlace>
  readonly units: ReadonlyMap<number, { readonly kind: UnitKind; readonly yardFt: number | null }>
  readonly scaleFt: ReadonlyMap<number, number | null>
  readonly liftGroups: ReadonlySet<number>
  /** Units that have a lift axle on record. */
  readonly liftUnits: ReadonlySet<number>
}

/** The circuits of a group are counted in the order of their ids, as the histories have them. */
export function readFleetPlaces({ db, raw }: Store): FleetPlaces {
  const sizes = new Map<number, number>()
  const circuitQuery = placedCircuits(db).select(['c.id', 'c.group_id', 'g.unit_id']).orderBy('c.id')
  const counted = Array.from(walk<[number, number, number]>(raw, circuitQuery), ([circuitId, groupId, unitId]) => {
    const circuit = sizes.get(groupId) ?? 0
    sizes.set(groupId, circuit + 1)
    return { circuitId, groupId, unitId, circuit }
  })
  const unitQuery = db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['u.id', 'u.kind', 'y.elevation_ft'])
  const lifts = [
    ...walk<[number, number]>(raw, db.selectFrom('axle_group').select(['id', 'unit_id']).where('role', '=', 'lift')),
  ]
  return {
    circuits: new Map(
      counted.map(({ circuitId, ...place }) => [circuitId, { ...place, circuits: sizes.get(place.groupId) ?? 0 }]),
    ),
    units: new Map(
      Array.from(walk<[number, UnitKind, number | null]>(raw, unitQuery), ([unitId, kind, yardFt]) => [
        unitId,
        { kind, yardFt },
      ]),
    ),
    scaleFt: new Map(walk<[number, number | null]>(raw, db.selectFrom('scale').select(['id', 'elevation_ft']))),
    liftGroups: new Set(lifts.map(([groupId]) => groupId)),
    liftUnits: new Set(lifts.map(([, unitId]) => unitId)),
  }
}

/** Coupling order: what drives comes first, then trailers as the ticket names them, or as they are stored. */
export function inCouplingOrder(unitIds: readonly number[], { units }: FleetPlaces): number[] {
  const isTrailer = (unitId: number) => units.get(unitId)?.kind === 'trailer'
  return [...unitIds.filter((unitId) => !isTrailer(unitId)), ...unitIds.filter(isTrailer)]
}

/** Elevation of the yard of the unit at the head, ft; null where it is not on record. Units in coupling order. */
export function headYardFt([head]: readonly number[], { units }: FleetPlaces): number | null {
  return head === undefined ? null : (units.get(head)?.yardFt ?? null)
}
