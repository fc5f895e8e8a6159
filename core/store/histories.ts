import { elevationOfReading, isAssumedElevation } from '#core/evidence/elevation.ts'
import {
  type CircuitFacts,
  type CommonWeight,
  type EventFacts,
  type FleetRecord,
  type FleetSource,
  type GroupFacts,
  type GroupHistory,
  type MountFacts,
  type ScaleFacts,
  isSensed,
} from '#core/evidence/history.ts'
import type { UnitOnScale } from '#core/evidence/whole-ticket.ts'
import { teachersOf } from '#core/findings/assess-fleet.ts'
import { columnsFor, shared } from '#core/store/columns.ts'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { frontToBack } from '#core/store/placed.ts'
import {
  type Grouping,
  type RecordColumns,
  type TicketColumns,
  codeOfLift,
  columnSource,
  knownOrNull,
  placeOf,
} from '#core/store/record-columns.ts'
import { type OnReadings, headYardsOf, readingsWithLift } from '#core/store/reading-units.ts'
import { among, numberOf, walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import type { EventKind, GroupRole, LiftState, Measure, PressureReference, UnitKind } from '#core/words/vocabulary.ts'

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
    // Not beginning with the id as other objects do: V8 gives up a shape once a like one holds something else in it,
    // and compiles anew, without end, what reads the old objects.
    scales.set(scaleId, { name, scaleId, divisionLb, elevationFt, tolerancePercent })
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

/** Counting sort: stable, two passes. Items with the key -1 are left out. */
function groupBy(keys: Int32Array, size: number): Grouping {
  const start = shared.places(size + 1)
  for (const key of keys) if (key >= 0) start[key + 1] = (start[key + 1] as number) + 1
  for (let key = 0; key < size; key += 1) start[key + 1] = (start[key + 1] as number) + (start[key] as number)
  const next = start.slice()
  const order = shared.places(start[size] as number)
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
function readTickets(store: Store, extent: Extent, sensed: ReadonlyMap<number, number>): TicketColumns {
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
  const elevationAssumed = shared.codes(ids.length)
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
  const withLift = shared.codes(ids.length)
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

/**
 * Reads the record of the sensed groups: a handful of queries into columns, whatever the fleet's size. Takes a second
 * or two for a million pressures: run it off the window's thread.
 */
export function readColumns(store: Store, extent: Extent): RecordColumns {
  const groups = readGroups(store, extent).filter(isSensed)
  const sensed = new Map(groups.map(({ groupId }, place) => [groupId, place]))
  const scales = readScales(store)
  const tickets = readTickets(store, extent, sensed)
  const { hasLift, ...readings } = readReadings(store, extent, tickets, scales)
  return {
    groups,
    scales,
    tickets,
    units: readUnitsOnScale(store, extent),
    liftUnits: new Set(groups.map(({ unitId }) => unitId).filter(hasLift)),
    readings,
    pressures: readPressures(store, extent, readings.id, groups),
    calibrations: readCalibrations(store, extent, sensed),
    events: readEvents(store, extent, groups),
  }
}

/** The same as the assessment reads it, each group's history made when it is asked for. */
export const openRecord = (store: Store, extent: Extent): FleetSource => columnSource(readColumns(store, extent))

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
