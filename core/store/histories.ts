import { liftOfUnit } from '#core/evidence/lift.ts'
import { elevationOfReading, isAssumedElevation } from '#core/evidence/elevation.ts'
import {
  type CalibrationFacts,
  type CircuitFacts,
  type CommonWeight,
  type EventFacts,
  type FleetRecord,
  type FleetSource,
  type GroupFacts,
  type GroupHistory,
  type MountFacts,
  type Observation,
  type ScaleFacts,
  type SharedWeight,
  type TicketBook,
  type TicketFacts,
  isSensed,
} from '#core/evidence/history.ts'
import { type UnitOnScale, isCompleteTicket } from '#core/evidence/whole-ticket.ts'
import { teachersOf } from '#core/findings/assess-fleet.ts'
import { columnsFor } from '#core/store/columns.ts'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { frontToBack } from '#core/store/placed.ts'
import { type OnReadings, headYardsOf, readingsWithLift } from '#core/store/reading-units.ts'
import { among, numberOf, walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import {
  type EventKind,
  type GroupRole,
  type LiftState,
  type Measure,
  type PressureReference,
  type UnitKind,
  liftStates,
} from '#core/words/vocabulary.ts'

/** What to read: everything known at `untilMs`, of all units or only of some. */
export interface Extent {
  readonly untilMs: number
  readonly unitIds?: readonly number[]
  /** Only the readings that go with a ticket: a fleet has a hundred others for each of them. */
  readonly weighedOnly?: boolean
  /** Where things stand, where the caller has read it already. */
  readonly places?: FleetPlaces | undefined
}

function listOf<K, V>(map: Map<K, V[]>, key: K): V[] {
  const list = map.get(key)
  if (list) return list
  const fresh: V[] = []
  map.set(key, fresh)
  return fresh
}

/** The axle groups of an extent in the order of the fleet: by unit, front to back. */
export function readGroups({ db, raw }: Store, { untilMs, unitIds }: Extent): GroupFacts[] {
  const until = toStoredInstant(untilMs)
  const mounts = new Map<number, MountFacts[]>()
  let mountQuery = db
    .selectFrom('mount as m')
    .innerJoin('sensor as s', 's.id', 'm.sensor_id')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .select([
      'm.circuit_id',
      's.serial',
      's.reference',
      's.range_psi',
      's.resolution_psi',
      's.accuracy_psi',
      'm.mounted_at',
      'm.removed_at',
    ])
    .where('m.mounted_at', '<=', until)
    .orderBy('m.mounted_at')
  if (unitIds) mountQuery = mountQuery.where('g.unit_id', 'in', unitIds)
  type MountRow = [
    number,
    string,
    PressureReference,
    number | null,
    number | null,
    number | null,
    string,
    string | null,
  ]
  for (const [
    circuitId,
    serial,
    reference,
    rangePsi,
    resolutionPsi,
    accuracyPsi,
    mountedAt,
    removedAt,
  ] of walk<MountRow>(raw, mountQuery)) {
    listOf(mounts, circuitId).push({
      serial,
      reference,
      rangePsi,
      resolutionPsi,
      accuracyPsi,
      mountedAt: fromStoredInstant(mountedAt),
      removedAt: removedAt === null ? null : fromStoredInstant(removedAt),
    })
  }

  const circuits = new Map<number, CircuitFacts[]>()
  let circuitQuery = db
    .selectFrom('circuit as c')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .select(['c.group_id', 'c.id', 'c.name', 'c.air_springs', 'c.spring_area_in2'])
    .orderBy('c.id')
  if (unitIds) circuitQuery = circuitQuery.where('g.unit_id', 'in', unitIds)
  type CircuitRow = [number, number, string, number | null, number | null]
  for (const [groupId, circuitId, name, airSprings, springAreaIn2] of walk<CircuitRow>(raw, circuitQuery)) {
    listOf(circuits, groupId).push({ circuitId, name, airSprings, springAreaIn2, mounts: mounts.get(circuitId) ?? [] })
  }

  const groups: GroupFacts[] = []
  let groupQuery = db
    .selectFrom('axle_group as g')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select([
      'g.id',
      'g.unit_id',
      'u.number',
      'u.kind',
      'g.name',
      'g.role',
      'g.axles',
      'g.axle_spacing_ft',
      'g.limit_lb',
      'g.measured_by',
    ])
    .orderBy('u.number')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('g.id')
  if (unitIds) groupQuery = groupQuery.where('g.unit_id', 'in', unitIds)
  type GroupRow = [
    number,
    number,
    string,
    UnitKind,
    string,
    GroupRole,
    number,
    number | null,
    number | null,
    Measure | null,
  ]
  for (const [
    groupId,
    unitId,
    unit,
    unitKind,
    group,
    role,
    axles,
    axleSpacingFt,
    limitLb,
    measuredBy,
  ] of walk<GroupRow>(raw, groupQuery)) {
    groups.push({
      groupId,
      unitId,
      unit,
      unitKind,
      group,
      role,
      axles,
      axleSpacingFt,
      limitLb,
      measuredBy,
      circuits: circuits.get(groupId) ?? [],
    })
  }
  return groups
}

export function readScales({ db, raw }: Store): Map<number, ScaleFacts> {
  const scales = new Map<number, ScaleFacts>()
  type ScaleRow = [number, string, number | null, number | null, number | null]
  const query = db.selectFrom('scale').select(['id', 'name', 'division_lb', 'elevation_ft', 'tolerance_percent'])
  for (const [scaleId, name, divisionLb, elevationFt, tolerancePercent] of walk<ScaleRow>(raw, query)) {
    scales.set(scaleId, { scaleId, name, divisionLb, elevationFt, tolerancePercent })
  }
  return scales
}

/** The readings that go with a ticket: their own, or that of the calibration point which they are. */
const weighedReadings = ({ db }: Store, unitIds: readonly number[] | undefined) => {
  if (!unitIds)
    return db
      .selectFrom('calibration_point as p')
      .select('p.reading_id as id')
      .union(db.selectFrom('reading as w').select('w.id').where('w.ticket_id', 'is not', null))
  const read = db
    .selectFrom('axle_group as g')
    .innerJoin('circuit as c', 'c.group_id', 'g.id')
    .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
    .where('g.unit_id', 'in', unitIds)
  return read
    .innerJoin('calibration_point as k', 'k.reading_id', 'p.reading_id')
    .select('p.reading_id as id')
    .union(read.innerJoin('reading as w', 'w.id', 'p.reading_id').select('w.id').where('w.ticket_id', 'is not', null))
}

/** The readings of an extent: those with a pressure of one of its units, which are looked up once for all questions. */
function readingsIn(store: Store, { untilMs, unitIds, weighedOnly }: Extent): OnReadings {
  const { db, raw } = store
  const known: OnReadings = (eb) => eb('r.taken_at', '<=', toStoredInstant(untilMs))
  const weighed: OnReadings = (eb) => eb.and([known(eb), eb('r.id', 'in', weighedReadings(store, unitIds))])
  if (!unitIds) return weighedOnly === true ? weighed : known
  const ofUnits: OnReadings = (eb) =>
    eb.and([
      known(eb),
      eb(
        'r.id',
        'in',
        db
          .selectFrom('reading_pressure as p')
          .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
          .innerJoin('axle_group as g', 'g.id', 'c.group_id')
          .select('p.reading_id')
          .where('g.unit_id', 'in', unitIds),
      ),
    ])
  const query = db
    .selectFrom('reading as r')
    .select('r.id')
    .where(weighedOnly === true ? weighed : ofUnits)
  const ids = Array.from(walk<[number]>(raw, query), ([id]) => id)
  return (eb) => eb('r.id', 'in', among(ids))
}

/** The tickets of some units: those that name one of them, and those that a reading of theirs belongs to. */
const ticketsOf = ({ db }: Store, unitIds: readonly number[]) =>
  db
    .selectFrom('ticket_weight')
    .select('ticket_id')
    .where('unit_id', 'in', unitIds)
    .union(
      db
        .selectFrom('axle_group as g')
        .innerJoin('circuit as c', 'c.group_id', 'g.id')
        .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
        .innerJoin('reading as r', 'r.id', 'p.reading_id')
        .where('g.unit_id', 'in', unitIds)
        .where('r.ticket_id', 'is not', null)
        .select('r.ticket_id as ticket_id')
        .$castTo<{ ticket_id: number }>(),
    )

/** The units on the tickets of an extent with the roles of their groups: what tells whether a ticket is complete. */
function readUnitsOnScale(store: Store, { unitIds }: Extent): Map<number, UnitOnScale> {
  const { db, raw } = store
  let query = db
    .selectFrom('axle_group as g')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['g.unit_id', 'u.kind', 'g.role'])
  if (unitIds) {
    query = query.where(
      'g.unit_id',
      'in',
      db.selectFrom('ticket_weight').select('unit_id').where('ticket_id', 'in', ticketsOf(store, unitIds)),
    )
  }
  const units = new Map<number, UnitOnScale & { readonly groups: { readonly role: GroupRole }[] }>()
  for (const [unitId, kind, role] of walk<[number, UnitKind, GroupRole]>(raw, query)) {
    const unit = units.get(unitId)
    if (unit) unit.groups.push({ role })
    else units.set(unitId, { kind, groups: [{ role }] })
  }
  return units
}

/** Columns hold NaN for what is not known. */
const knownOrNull = (value: number): number | null => (Number.isNaN(value) ? null : value)

/**
 * Places of items grouped by a key of 0 to size - 1: those of key k are order[start[k]] to order[start[k + 1] - 1], in
 * order.
 */
interface Grouping {
  readonly start: Int32Array
  readonly order: Int32Array
}

/** Counting sort: stable, two passes. Items with the key -1 are left out. */
function groupBy(keys: Int32Array, size: number): Grouping {
  const start = new Int32Array(size + 1)
  for (const key of keys) if (key >= 0) start[key + 1] = (start[key + 1] as number) + 1
  for (let key = 0; key < size; key += 1) start[key + 1] = (start[key + 1] as number) + (start[key] as number)
  const next = start.slice()
  const order = new Int32Array(start[size] as number)
  for (let item = 0; item < keys.length; item += 1) {
    const key = keys[item] as number
    if (key < 0) continue
    order[next[key] as number] = item
    next[key] = (next[key] as number) + 1
  }
  return { start, order }
}

/** Columns for what an extent holds of a table: of the whole fleet nearly all of it. */
const columnsOf = ({ raw }: Store, { unitIds }: Extent, table: keyof Schema) =>
  columnsFor(unitIds ? 0 : numberOf(raw, `select count(*) from ${table}`))

/** Place of an id in a rising list, or -1. */
function placeOf(ids: Float64Array, id: number): number {
  let low = 0
  let high = ids.length - 1
  while (low <= high) {
    const middle = (low + high) >> 1
    const found = ids[middle] as number
    if (found === id) return middle
    if (found < id) low = middle + 1
    else high = middle - 1
  }
  return -1
}

/** The weights of two groups on one platform, by the places of their tickets: there are few. */
function readTogether(store: Store, { unitIds }: Extent, ids: Float64Array): Map<number, CommonWeight[]> {
  const { db, raw } = store
  let query = db
    .selectFrom('ticket_together as w')
    .select(['w.ticket_id', 'w.first_group_id', 'w.second_group_id', 'w.weight_lb'])
    .orderBy('w.ticket_id')
    .orderBy('w.first_group_id')
    .orderBy('w.second_group_id')
  if (unitIds) query = query.where('w.ticket_id', 'in', ticketsOf(store, unitIds))
  const together = new Map<number, CommonWeight[]>()
  for (const [ticketId, first, second, weightLb] of walk<[number, number, number, number]>(raw, query)) {
    const place = placeOf(ids, ticketId)
    if (place >= 0) listOf(together, place).push({ groupIds: [first, second], weightLb })
  }
  return together
}

/**
 * Tickets as columns, by rising id; their weights apart, each with the place of its ticket and of its sensed group (or
 * -1).
 */
function readTickets(store: Store, extent: Extent, sensed: ReadonlyMap<number, number>) {
  const { db, raw } = store
  const { untilMs, unitIds } = extent
  const ofTickets = columnsOf(store, extent, 'ticket')
  const ids = ofTickets.figures()
  const number: string[] = []
  const scaleId = ofTickets.figures()
  const weighedAt = ofTickets.figures()
  const grossLb = ofTickets.figures()
  let ticketQuery = db
    .selectFrom('ticket as t')
    .select(['t.id', 't.number', 't.scale_id', 't.weighed_at', 't.gross_lb'])
    .where('t.weighed_at', '<=', toStoredInstant(untilMs))
    .orderBy('t.id')
  if (unitIds) ticketQuery = ticketQuery.where('t.id', 'in', ticketsOf(store, unitIds))
  type TicketRow = [number, string, number, string, number | null]
  for (const row of walk<TicketRow>(raw, ticketQuery)) {
    ids.push(row[0])
    number.push(row[1])
    scaleId.push(row[2])
    weighedAt.push(fromStoredInstant(row[3]))
    grossLb.push(row[4] ?? Number.NaN)
  }
  const id = ids.done()
  const ofWeights = columnsOf(store, extent, 'ticket_weight')
  const weight = {
    ticket: ofWeights.places(),
    unitId: ofWeights.figures(),
    groupId: ofWeights.figures(),
    group: ofWeights.places(),
    lb: ofWeights.figures(),
  }
  let weightQuery = db
    .selectFrom('ticket_weight as w')
    .select(['w.ticket_id', 'w.unit_id', 'w.group_id', 'w.weight_lb'])
    .orderBy('w.id')
  if (unitIds) weightQuery = weightQuery.where('w.ticket_id', 'in', ticketsOf(store, unitIds))
  type WeightRow = [number, number, number | null, number | null]
  for (const [ticketId, unitId, groupId, lb] of walk<WeightRow>(raw, weightQuery)) {
    const ticket = placeOf(id, ticketId)
    if (ticket < 0) continue
    weight.ticket.push(ticket)
    weight.unitId.push(unitId)
    weight.groupId.push(groupId ?? -1)
    weight.group.push(groupId === null ? -1 : (sensed.get(groupId) ?? -1))
    weight.lb.push(lb ?? Number.NaN)
  }
  const ticket = weight.ticket.done()
  return {
    id,
    number,
    scaleId: scaleId.done(),
    weighedAt: weighedAt.done(),
    grossLb: grossLb.done(),
    weight: { ticket, unitId: weight.unitId.done(), groupId: weight.groupId.done(), lb: weight.lb.done() },
    ofTicket: groupBy(ticket, id.length),
    ofGroup: groupBy(weight.group.done(), sensed.size),
    together: readTogether(store, extent, id),
  }
}
type TicketColumns = ReturnType<typeof readTickets>

/** The tickets by id, each made when it is asked for. */
function ticketBook(columns: TicketColumns, units: ReadonlyMap<number, UnitOnScale>): TicketBook {
  const { id, weight, ofTicket } = columns
  const make = (place: number): TicketFacts => {
    const unitIds: number[] = []
    const groupIds: number[] = []
    const weightsLb: number[] = []
    const together = columns.together.get(place) ?? []
    for (let i = ofTicket.start[place] as number; i < (ofTicket.start[place + 1] as number); i += 1) {
      const item = ofTicket.order[i] as number
      const unitId = weight.unitId[item] as number
      if (!unitIds.includes(unitId)) unitIds.push(unitId)
      if ((weight.groupId[item] as number) < 0) continue
      groupIds.push(weight.groupId[item] as number)
      weightsLb.push(weight.lb[item] as number)
    }
    return {
      ticketId: id[place] as number,
      number: columns.number[place] as string,
      scaleId: columns.scaleId[place] as number,
      weighedAt: columns.weighedAt[place] as number,
      grossLb: knownOrNull(columns.grossLb[place] as number),
      unitIds,
      groupIds,
      weightsLb,
      together,
      complete: isCompleteTicket(
        unitIds.map((unitId) => units.get(unitId)),
        { alone: groupIds.length, together: together.length },
      ),
    }
  }
  return {
    get: (ticketId) => {
      const place = placeOf(id, ticketId)
      return place < 0 ? undefined : make(place)
    },
    *values() {
      for (let place = 0; place < id.length; place += 1) yield make(place)
      return undefined
    },
  }
}

const codeOfLift = (state: LiftState | null): number => (state === null ? 0 : liftStates.indexOf(state) + 1)
const liftOfCode = (code: number): LiftState | null => liftStates[code - 1] ?? null

/** Readings as columns, by rising id. */
function readReadings(
  store: Store,
  extent: Extent,
  tickets: TicketColumns,
  scales: ReadonlyMap<number, Pick<ScaleFacts, 'elevationFt'>>,
) {
  const { db, raw } = store
  const { figures, places: placesOf, codes } = columnsOf(store, extent, 'reading')
  const id = figures()
  const takenAt = figures()
  const notedFt = figures()
  const temperatureF = figures()
  const lift = codes()
  const ticket = placesOf()
  const which = readingsIn(store, extent)
  const places = extent.places ?? (extent.unitIds ? lookUpPlaces(store) : readFleetPlaces(store))
  const query = db
    .selectFrom('reading as r')
    .select(['r.id', 'r.taken_at', 'r.elevation_ft', 'r.temperature_f', 'r.lift', 'r.ticket_id'])
    .where(which)
    .orderBy('r.id')
  type ReadingRow = [number, string, number | null, number | null, LiftState | null, number | null]
  for (const row of walk<ReadingRow>(raw, query)) {
    id.push(row[0])
    takenAt.push(fromStoredInstant(row[1]))
    notedFt.push(row[2] ?? Number.NaN)
    temperatureF.push(row[3] ?? Number.NaN)
    lift.push(codeOfLift(row[4]))
    ticket.push(row[5] === null ? -1 : placeOf(tickets.id, row[5]))
  }
  const ids = id.done()
  const ticketPlaces = ticket.done()
  // What was noted gives way to what counts.
  const elevationFt = notedFt.done()
  const elevationAssumed = new Uint8Array(ids.length)
  const headYards = headYardsOf(store, places, which)
  for (let place = 0; place < ids.length; place += 1) {
    const scaleId = tickets.scaleId[ticketPlaces[place] as number]
    const known = {
      notedFt: knownOrNull(elevationFt[place] as number),
      scaleFt: (scaleId === undefined ? undefined : scales.get(scaleId))?.elevationFt ?? null,
      headYardFt: headYards.get(ids[place] as number) ?? null,
    }
    elevationFt[place] = elevationOfReading(known) ?? Number.NaN
    elevationAssumed[place] = isAssumedElevation(known) ? 1 : 0
  }
  const withLift = new Uint8Array(ids.length)
  for (const readingId of readingsWithLift(store, places, which)) withLift[placeOf(ids, readingId)] = 1
  return {
    id: ids,
    takenAt: takenAt.done(),
    elevationFt,
    elevationAssumed,
    temperatureF: temperatureF.done(),
    lift: lift.done(),
    ticket: ticketPlaces,
    withLift,
    hasLift: (unitId: number) => places.liftUnits.has(unitId),
  }
}

/** Pressures as columns, each with the place of its reading, of its group, and of its circuit within the group. */
function readPressures(store: Store, extent: Extent, readingIds: Float64Array, groups: readonly GroupFacts[]) {
  const { unitIds, weighedOnly } = extent
  const places = new Map<number, { group: number; circuit: number }>()
  for (const [group, { circuits }] of groups.entries()) {
    for (const [circuit, { circuitId }] of circuits.entries()) places.set(circuitId, { group, circuit })
  }
  const { db, raw } = store
  const columns = columnsOf(store, extent, 'reading_pressure')
  const reading = columns.places()
  const group = columns.places()
  const circuit = columns.places()
  const psi = columns.figures()
  // In the order of the table, so that the readings are met in their own order and the search starts where it ended.
  let query = db
    .selectFrom('reading_pressure as p')
    .select(['p.reading_id', 'p.circuit_id', 'p.psi'])
    .orderBy('p.reading_id')
  if (weighedOnly === true) query = query.where('p.reading_id', 'in', weighedReadings(store, unitIds))
  if (unitIds) {
    query = query
      .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
      .innerJoin('axle_group as g', 'g.id', 'c.group_id')
      .where('g.unit_id', 'in', unitIds)
  }
  let next = 0
  for (const row of walk<[number, number, number]>(raw, query)) {
    while (next < readingIds.length && (readingIds[next] as number) < row[0]) next += 1
    const place = places.get(row[1])
    if (!place || readingIds[next] !== row[0]) continue
    reading.push(next)
    group.push(place.group)
    circuit.push(place.circuit)
    psi.push(row[2])
  }
  return {
    reading: reading.done(),
    circuit: circuit.done(),
    psi: psi.done(),
    ofGroup: groupBy(group.done(), groups.length),
  }
}

/** Calibrations with their points, those of one group side by side. */
function readCalibrations(store: Store, extent: Extent, sensed: ReadonlyMap<number, number>) {
  const { db, raw } = store
  const { untilMs, unitIds } = extent
  const columns = columnsOf(store, extent, 'calibration_point')
  const group = columns.places()
  const id = columns.figures()
  const at = columns.figures()
  const by: (string | null)[] = []
  const ticketId = columns.figures()
  const readingId = columns.figures()
  let query = db
    .selectFrom('calibration as k')
    .innerJoin('calibration_point as p', 'p.calibration_id', 'k.id')
    .select(['k.id', 'k.group_id', 'k.calibrated_at', 'k.calibrated_by', 'p.ticket_id', 'p.reading_id'])
    .where('k.voided_at', 'is', null)
    .where('k.calibrated_at', '<=', toStoredInstant(untilMs))
    .orderBy('k.group_id')
    .orderBy('k.calibrated_at')
    .orderBy('k.id')
    .orderBy('p.ticket_id')
    .orderBy('p.reading_id')
  if (unitIds) query = query.innerJoin('axle_group as g', 'g.id', 'k.group_id').where('g.unit_id', 'in', unitIds)
  type PointRow = [number, number, string, string | null, number, number]
  for (const row of walk<PointRow>(raw, query)) {
    id.push(row[0])
    group.push(sensed.get(row[1]) ?? -1)
    at.push(fromStoredInstant(row[2]))
    by.push(row[3])
    ticketId.push(row[4])
    readingId.push(row[5])
  }
  return {
    id: id.done(),
    at: at.done(),
    by,
    ticketId: ticketId.done(),
    readingId: readingId.done(),
    ofGroup: groupBy(group.done(), sensed.size),
  }
}

function readEvents(
  { db, raw }: Store,
  { untilMs, unitIds }: Extent,
  groups: readonly GroupFacts[],
): Map<number, EventFacts[]> {
  const ofUnit = new Map<number, number[]>()
  for (const { unitId, groupId } of groups) listOf(ofUnit, unitId).push(groupId)
  const events = new Map<number, EventFacts[]>()
  let query = db
    .selectFrom('event as e')
    .select(['e.unit_id', 'e.group_id', 'e.circuit_id', 'e.happened_at', 'e.kind', 'e.note'])
    .where('e.happened_at', '<=', toStoredInstant(untilMs))
    .orderBy('e.happened_at')
    .orderBy('e.id')
  if (unitIds) query = query.where('e.unit_id', 'in', unitIds)
  type EventRow = [number, number | null, number | null, string, EventKind, string | null]
  for (const [unitId, onGroup, circuitId, happenedAt, kind, note] of walk<EventRow>(raw, query)) {
    for (const groupId of ofUnit.get(unitId) ?? []) {
      if (onGroup === null || onGroup === groupId)
        listOf(events, groupId).push({ happenedAt: fromStoredInstant(happenedAt), kind, circuitId, note })
    }
  }
  return events
}

function byTime(a: Observation, b: Observation): number {
  return a.takenAt - b.takenAt || a.readingId - b.readingId
}

/**
 * The record of the sensed groups as the assessment reads it: a handful of queries into columns, whatever the fleet's
 * size, from which each group's history is made when it is asked for. Takes a second or two for a million pressures:
 * run it off the window's thread.
 */
export function openRecord(store: Store, extent: Extent): FleetSource {
  const groups = readGroups(store, extent).filter(isSensed)
  const sensed = new Map(groups.map(({ groupId }, place) => [groupId, place]))
  const scales = readScales(store)
  const tickets = readTickets(store, extent, sensed)
  const readings = readReadings(store, extent, tickets, scales)
  const pressures = readPressures(store, extent, readings.id, groups)
  const calibrations = readCalibrations(store, extent, sensed)
  const events = readEvents(store, extent, groups)

  const weightsOf = (place: number): Map<number, number> => {
    const weights = new Map<number, number>()
    for (let i = tickets.ofGroup.start[place] as number; i < (tickets.ofGroup.start[place + 1] as number); i += 1) {
      const item = tickets.ofGroup.order[i] as number
      weights.set(tickets.weight.ticket[item] as number, tickets.weight.lb[item] as number)
    }
    return weights
  }

  /** What the tickets' common weights are for one of their groups. */
  const shared = new Map<number, Map<number, SharedWeight>>()
  for (const [ticket, each] of tickets.together) {
    for (const { groupIds, weightLb } of each) {
      for (const [i, groupId] of groupIds.entries()) {
        const place = sensed.get(groupId)
        if (place === undefined) continue
        const own = shared.get(place) ?? new Map<number, SharedWeight>()
        shared.set(place, own)
        own.set(ticket, {
          ticketId: tickets.id[ticket] as number,
          scaleId: tickets.scaleId[ticket] as number,
          withGroupId: groupIds[1 - i] as number,
          weightLb,
        })
      }
    }
  }

  const observationsOf = (
    place: number,
    { unitId, circuits }: { unitId: number; circuits: number },
    weights: ReadonlyMap<number, number>,
  ): Observation[] => {
    const observations: Observation[] = []
    let current = -1
    let psi: (number | null)[] = []
    for (let i = pressures.ofGroup.start[place] as number; i < (pressures.ofGroup.start[place + 1] as number); i += 1) {
      const item = pressures.ofGroup.order[i] as number
      const reading = pressures.reading[item] as number
      if (reading !== current) {
        current = reading
        psi = circuits === 1 ? [pressures.psi[item] as number] : new Array<number | null>(circuits).fill(null)
        const ticket = readings.ticket[reading] as number
        const weightLb = ticket < 0 ? null : (weights.get(ticket) ?? null)
        const withLift = readings.withLift[reading] === 1
        const together = weightLb === null ? shared.get(place)?.get(ticket) : undefined
        observations.push({
          readingId: readings.id[reading] as number,
          takenAt: readings.takenAt[reading] as number,
          elevationFt: knownOrNull(readings.elevationFt[reading] as number),
          elevationAssumed: readings.elevationAssumed[reading] === 1,
          temperatureF: knownOrNull(readings.temperatureF[reading] as number),
          lift: liftOfUnit(
            liftOfCode(readings.lift[reading] as number),
            withLift && readings.hasLift(unitId),
            withLift,
          ),
          psi,
          ticketId: weightLb === null ? null : (tickets.id[ticket] as number),
          scaleId: weightLb === null ? null : (tickets.scaleId[ticket] as number),
          weightLb,
          ...(together && { together }),
        })
      }
      psi[pressures.circuit[item] as number] = pressures.psi[item] as number
    }
    for (let i = 1; i < observations.length; i += 1) {
      if (byTime(observations[i - 1] as Observation, observations[i] as Observation) > 0)
        return observations.sort(byTime)
    }
    return observations
  }

  const calibrationsOf = (
    place: number,
    observations: readonly Observation[],
    weights: ReadonlyMap<number, number>,
  ): CalibrationFacts[] => {
    const from = calibrations.ofGroup.start[place] as number
    const to = calibrations.ofGroup.start[place + 1] as number
    if (from === to) return []
    const asked = new Set<number>()
    for (const item of calibrations.ofGroup.order.subarray(from, to)) asked.add(calibrations.readingId[item] as number)
    const byReading = new Map<number, Observation>()
    for (const observation of observations)
      if (asked.has(observation.readingId)) byReading.set(observation.readingId, observation)
    type Made = CalibrationFacts & { points: Observation[] }
    const made: Made[] = []
    for (let i = from; i < to; i += 1) {
      const item = calibrations.ofGroup.order[i] as number
      let current = made.at(-1) as Made
      if (current?.calibrationId !== calibrations.id[item]) {
        current = {
          calibrationId: calibrations.id[item] as number,
          calibratedAt: calibrations.at[item] as number,
          calibratedBy: calibrations.by[item] as string | null,
          points: [],
        }
        made.push(current)
      }
      const observation = byReading.get(calibrations.readingId[item] as number)
      if (!observation) continue
      const ticketId = calibrations.ticketId[item] as number
      const ticket = placeOf(tickets.id, ticketId)
      // A ticket that did not weigh this group stays, without a weight: the calibration is refused for it, not bent by
      // losing a point.
      const weightLb = weights.get(ticket) ?? null
      const scaleId = weightLb === null ? null : (tickets.scaleId[ticket] as number)
      current.points.push(
        observation.ticketId === ticketId ? observation : { ...observation, ticketId, scaleId, weightLb },
      )
    }
    return made
  }

  return {
    groups,
    scales,
    tickets: ticketBook(tickets, readUnitsOnScale(store, extent)),
    historyOf: (groupId) => {
      const place = sensed.get(groupId)
      if (place === undefined) return undefined
      const group = groups[place] as GroupFacts
      const weights = weightsOf(place)
      const observations = observationsOf(place, { unitId: group.unitId, circuits: group.circuits.length }, weights)
      return {
        ...group,
        observations,
        calibrations: calibrationsOf(place, observations, weights),
        events: events.get(groupId) ?? [],
      }
    },
  }
}

/** Fleets up to so many groups are read whole to learn from: nearly all of their units teach. */
const fewGroups = 5000

/** The record as far as a fleet's figures are learnt from it: of a large fleet, the units that teach. */
export function openTeachers(store: Store, untilMs: number, few = fewGroups): FleetSource {
  const groups = readGroups(store, { untilMs }).filter(isSensed)
  if (groups.length <= few) return openRecord(store, { untilMs })
  const unitIds = [...new Set(Array.from(teachersOf(groups), ({ unitId }) => unitId))]
  return { ...openRecord(store, { untilMs, unitIds }), groups }
}

/** The same with every history in memory: for some units, not for a large fleet. */
export function readRecord(store: Store, extent: Extent): FleetRecord {
  const { groups, scales, tickets, historyOf } = openRecord(store, extent)
  const histories: GroupHistory[] = []
  for (const { groupId } of groups) histories.push(historyOf(groupId) as GroupHistory)
  return {
    groups: histories,
    scales,
    tickets: new Map(Array.from(tickets.values(), (ticket) => [ticket.ticketId, ticket])),
  }
}
