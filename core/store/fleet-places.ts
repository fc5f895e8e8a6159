import type { Compilable } from 'kysely'
import type { Store } from '#core/store/open.ts'
import { placedCircuits } from '#core/store/placed.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'

/** Whose pressure a circuit's is, and its place among the circuits of its group. */
interface CircuitPlace {
  readonly groupId: number
  readonly unitId: number
  readonly circuit: number
  readonly circuits: number
}

/** What is known of things by their ids. */
interface ById<T> {
  get(id: number): T | undefined
}

interface UnitPlace {
  readonly kind: UnitKind
  readonly yardFt: number | null
}

/**
 * Where things stand in the fleet: what turns rows of the record into readings of combinations. Each is looked up when
 * it is asked for and then kept, so that a save asks about its few units and not about ten thousand.
 */
export interface FleetPlaces {
  readonly circuits: ById<CircuitPlace>
  readonly units: ById<UnitPlace>
  readonly scaleFt: ById<number | null>
  /** Whether a group, or a unit by one of its groups, is a lift axle on record. */
  readonly isLiftGroup: (groupId: number) => boolean
  readonly isLiftUnit: (unitId: number) => boolean
  readonly hasLifts: boolean
  /** Whether the elevation of any yard is on record. */
  readonly hasYardElevations: boolean
}

/** Looks each up once. */
function kept<T>(lookUp: (id: number) => T | undefined): ById<T> {
  const known = new Map<number, T | undefined>()
  return {
    get: (id) => {
      if (known.has(id)) return known.get(id)
      const found = lookUp(id)
      known.set(id, found)
      return found
    },
  }
}

export function readFleetPlaces({ db, raw }: Store): FleetPlaces {
  /** A question about one id, asked again with another. */
  const about = <Row extends unknown[]>(query: Compilable) => {
    const { sql, parameters } = query.compile()
    const statement = raw.prepare(sql).raw()
    return (id: number) => statement.all(...parameters.slice(0, -1), id) as Row[]
  }
  const siblingsOf = about<[number, number, number]>(
    placedCircuits(db)
      .select(['c.id', 'c.group_id', 'g.unit_id'])
      .where('c.group_id', '=', (eb) => eb.selectFrom('circuit as own').select('own.group_id').where('own.id', '=', 0))
      .orderBy('c.id'),
  )
  const unitOf = about<[UnitKind, number | null]>(
    db
      .selectFrom('unit as u')
      .leftJoin('yard as y', 'y.id', 'u.yard_id')
      .select(['u.kind', 'y.elevation_ft'])
      .where('u.id', '=', 0),
  )
  const scaleOf = about<[number | null]>(db.selectFrom('scale').select('elevation_ft').where('id', '=', 0))
  const lifts = db.selectFrom('axle_group').select('id').where('role', '=', 'lift')
  const liftGroup = about<[number]>(lifts.where('id', '=', 0))
  const liftsOfUnit = about<[number]>(lifts.where('unit_id', '=', 0))
  const isAny = (query: Compilable) => {
    const { sql, parameters } = query.compile()
    return raw.prepare(sql).get(...parameters) !== undefined
  }
  const groups = kept((groupId) => liftGroup(groupId).length > 0)
  const units = kept((unitId) => liftsOfUnit(unitId).length > 0)
  return {
    circuits: kept((circuitId) => {
      // The circuits of a group are counted in the order of their ids, as the histories have them.
      const siblings = siblingsOf(circuitId)
      const circuit = siblings.findIndex(([id]) => id === circuitId)
      const own = siblings[circuit]
      return own && { groupId: own[1], unitId: own[2], circuit, circuits: siblings.length }
    }),
    units: kept((unitId) => {
      const [found] = unitOf(unitId)
      return found && { kind: found[0], yardFt: found[1] }
    }),
    scaleFt: kept((scaleId) => scaleOf(scaleId)[0]?.[0]),
    isLiftGroup: (groupId) => groups.get(groupId) === true,
    isLiftUnit: (unitId) => units.get(unitId) === true,
    hasLifts: isAny(lifts.limit(1)),
    hasYardElevations: isAny(db.selectFrom('yard').select('id').where('elevation_ft', 'is not', null).limit(1)),
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
