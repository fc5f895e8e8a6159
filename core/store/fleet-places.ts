import type { Compilable } from 'kysely'
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

interface UnitPlace {
  readonly kind: UnitKind
  readonly yardFt: number | null
}

type Known<Place> = Pick<ReadonlyMap<number, Place>, 'get'>
type Marked = Pick<ReadonlySet<number>, 'has'>

/** Where things stand in the fleet, by their ids: what turns rows of the record into readings of combinations. */
export interface FleetPlaces {
  readonly circuits: Known<CircuitPlace>
  readonly units: Known<UnitPlace>
  readonly scaleFt: Known<number | null>
  readonly liftGroups: Marked
  /** Units that have a lift axle on record. */
  readonly liftUnits: Marked
  /** Whether any unit of the fleet has one, and whether any is at home at a yard of a known elevation. */
  readonly anyLift: boolean
  readonly anyYardFt: boolean
}

const circuitsIn = ({ db }: Pick<Store, 'db'>) =>
  placedCircuits(db).select(['c.id', 'c.group_id', 'g.unit_id']).orderBy('c.id')

/** The circuits of whole groups are counted in the order of their ids, as the histories have them. */
function countCircuits(rows: Iterable<readonly [number, number, number]>): Map<number, CircuitPlace> {
  const sizes = new Map<number, number>()
  const counted = Array.from(rows, ([circuitId, groupId, unitId]) => {
    const circuit = sizes.get(groupId) ?? 0
    sizes.set(groupId, circuit + 1)
    return { circuitId, groupId, unitId, circuit }
  })
  return new Map(
    counted.map(({ circuitId, ...place }) => [circuitId, { ...place, circuits: sizes.get(place.groupId) ?? 0 }]),
  )
}

const unitsIn = ({ db }: Pick<Store, 'db'>) =>
  db.selectFrom('unit as u').leftJoin('yard as y', 'y.id', 'u.yard_id').select(['u.id', 'u.kind', 'y.elevation_ft'])

const scalesIn = ({ db }: Pick<Store, 'db'>) => db.selectFrom('scale').select(['id', 'elevation_ft'])

const liftsIn = ({ db }: Pick<Store, 'db'>) =>
  db.selectFrom('axle_group').select(['id', 'unit_id']).where('role', '=', 'lift')

/** Where all of the fleet stands. Reads tens of thousands of rows of a large fleet: for questions about most of it. */
export function readFleetPlaces(store: Store): FleetPlaces {
  const { raw } = store
  const lifts = [...walk<[number, number]>(raw, liftsIn(store))]
  const units = new Map(
    Array.from(walk<[number, UnitKind, number | null]>(raw, unitsIn(store)), ([unitId, kind, yardFt]) => [
      unitId,
      { kind, yardFt },
    ]),
  )
  return {
    circuits: countCircuits(walk(raw, circuitsIn(store))),
    units,
    scaleFt: new Map(walk<[number, number | null]>(raw, scalesIn(store))),
    liftGroups: new Set(lifts.map(([groupId]) => groupId)),
    liftUnits: new Set(lifts.map(([, unitId]) => unitId)),
    anyLift: lifts.length > 0,
    anyYardFt: [...units.values()].some(({ yardFt }) => yardFt !== null),
  }
}

/** Figures looked up one by one, each once. */
function lookedUp<Value>(look: (id: number) => Value) {
  const known = new Map<number, Value>()
  return (id: number): Value => {
    if (!known.has(id)) known.set(id, look(id))
    return known.get(id) as Value
  }
}

/** The same looked up where it is asked for: for questions about a few units. */
export function lookUpPlaces(store: Store): FleetPlaces {
  const { db, raw } = store
  const statement = (query: Compilable) => raw.prepare(query.compile().sql).raw()
  const circuit = statement(db.selectFrom('circuit').select('group_id').where('id', '=', 0))
  const ofGroup = statement(circuitsIn(store).where('c.group_id', '=', 0))
  const unit = statement(unitsIn(store).where('u.id', '=', 0))
  const scale = statement(scalesIn(store).where('id', '=', 0))
  const liftGroup = statement(liftsIn(store).where('id', '=', 0))
  const liftUnit = statement(liftsIn(store).where('unit_id', '=', 0))
  const anyYard = statement(unitsIn(store).where('y.elevation_ft', 'is not', null).limit(1))
  const anyLift = statement(liftsIn(store).limit(1))
  const groupPlaces = lookedUp((groupId) => countCircuits(ofGroup.all(groupId) as [number, number, number][]))
  return {
    circuits: {
      get: lookedUp((circuitId) => {
        const [groupId] = (circuit.get(circuitId) ?? []) as number[]
        return groupId === undefined ? undefined : groupPlaces(groupId).get(circuitId)
      }),
    },
    units: {
      get: lookedUp((unitId) => {
        const row = unit.get(unitId) as [number, UnitKind, number | null] | undefined
        return row && { kind: row[1], yardFt: row[2] }
      }),
    },
    scaleFt: { get: lookedUp((scaleId) => (scale.get(scaleId) as [number, number | null] | undefined)?.[1]) },
    liftGroups: { has: lookedUp((groupId) => liftGroup.get('lift', groupId) !== undefined) },
    liftUnits: { has: lookedUp((unitId) => liftUnit.get('lift', unitId) !== undefined) },
    anyLift: anyLift.get('lift', 1) !== undefined,
    anyYardFt: anyYard.get(1) !== undefined,
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
