import { sql } from 'kysely'
import type {
  CalibrationFacts, CircuitFacts, EventFacts, FleetRecord, GroupFacts, GroupHistory, MountFacts, Observation, ScaleFacts, TicketFacts,
} from '#core/fleet/history.ts'
import { isSensed } from '#core/fleet/history.ts'
import { fromStoredInstant, toStoredInstant } from '#core/fleet/instant.ts'
import type { EventKind, GroupRole, LiftState, Measure, PressureReference, UnitKind } from '#core/fleet/vocabulary.ts'
import { walk } from '#core/store/bulk.ts'
import type { Store } from '#core/store/open.ts'

interface ReadingFacts {
  readonly takenAt: number
  readonly elevationFt: number | null
  readonly lift: LiftState | null
  readonly ticketId: number | null
}

type Mutable<T> = { -readonly [K in keyof T]: T[K] }
type GroupDraft = GroupFacts & { calibrations: CalibrationFacts[]; observations: Observation[]; events: EventFacts[] }

/** What to read: everything known at `untilMs`, of all units or only of some. */
export interface Extent {
  readonly untilMs: number
  readonly unitIds?: readonly number[]
}

function listOf<K, V>(map: Map<K, V[]>, key: K): V[] {
  const list = map.get(key)
  if (list) return list
  const fresh: V[] = []
  map.set(key, fresh)
  return fresh
}

function readGroups({ db, raw }: Store, { untilMs, unitIds }: Extent): GroupDraft[] {
  const until = toStoredInstant(untilMs)
  const mounts = new Map<number, MountFacts[]>()
  let mountQuery = db.selectFrom('mount as m').innerJoin('sensor as s', 's.id', 'm.sensor_id')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id').innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .select(['m.circuit_id', 's.serial', 's.reference', 's.resolution_psi', 's.accuracy_psi', 'm.mounted_at', 'm.removed_at'])
    .where('m.mounted_at', '<=', until).orderBy('m.mounted_at')
  if (unitIds) mountQuery = mountQuery.where('g.unit_id', 'in', unitIds)
  type MountRow = [number, string, PressureReference, number | null, number | null, string, string | null]
  for (const [circuitId, serial, reference, resolutionPsi, accuracyPsi, mountedAt, removedAt] of walk<MountRow>(raw, mountQuery)) {
    listOf(mounts, circuitId).push({
      serial, reference, resolutionPsi, accuracyPsi, mountedAt: fromStoredInstant(mountedAt),
      removedAt: removedAt === null ? null : fromStoredInstant(removedAt),
    })
  }

  const circuits = new Map<number, CircuitFacts[]>()
  let circuitQuery = db.selectFrom('circuit as c').innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .select(['c.group_id', 'c.id', 'c.name', 'c.air_springs', 'c.spring_area_in2']).orderBy('c.id')
  if (unitIds) circuitQuery = circuitQuery.where('g.unit_id', 'in', unitIds)
  type CircuitRow = [number, number, string, number | null, number | null]
  for (const [groupId, circuitId, name, airSprings, springAreaIn2] of walk<CircuitRow>(raw, circuitQuery)) {
    listOf(circuits, groupId).push({ circuitId, name, airSprings, springAreaIn2, mounts: mounts.get(circuitId) ?? [] })
  }

  const groups: GroupDraft[] = []
  let groupQuery = db.selectFrom('axle_group as g').innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['g.id', 'g.unit_id', 'u.number', 'u.kind', 'g.name', 'g.role', 'g.axles', 'g.axle_spacing_ft', 'g.limit_lb', 'g.measured_by'])
    .orderBy('u.number').orderBy('g.first_axle_ft').orderBy('g.id')
  if (unitIds) groupQuery = groupQuery.where('g.unit_id', 'in', unitIds)
  type GroupRow = [number, number, string, UnitKind, string, GroupRole, number, number | null, number | null, Measure | null]
  for (const [groupId, unitId, unit, unitKind, group, role, axles, axleSpacingFt, limitLb, measuredBy] of walk<GroupRow>(raw, groupQuery)) {
    groups.push({
      groupId, unitId, unit, unitKind, group, role, axles, axleSpacingFt, limitLb, measuredBy,
      circuits: circuits.get(groupId) ?? [], calibrations: [], observations: [], events: [],
    })
  }
  return groups
}

function readScales({ db, raw }: Store): Map<number, ScaleFacts> {
  const scales = new Map<number, ScaleFacts>()
  type ScaleRow = [number, string, number | null, number | null, number | null]
  const query = db.selectFrom('scale').select(['id', 'name', 'division_lb', 'elevation_ft', 'tolerance_percent'])
  for (const [scaleId, name, divisionLb, elevationFt, tolerancePercent] of walk<ScaleRow>(raw, query)) {
    scales.set(scaleId, { scaleId, name, divisionLb, elevationFt, tolerancePercent })
  }
  return scales
}

/**
 * How many axle groups each unit has: what a ticket of it must carry to be complete. A tractor or truck whose steer axle
 * is not on record is left out, since its weights cannot be summed.
 */
function readGroupCounts({ db, raw }: Store, { unitIds }: Extent): Map<number, number> {
  let query = db.selectFrom('axle_group as g').innerJoin('unit as u', 'u.id', 'g.unit_id').groupBy('g.unit_id')
    .select(({ fn }) => ['g.unit_id', fn.countAll<number>().as('groups')])
    .having(({ or, eb }) => or([eb('u.kind', '=', 'trailer'), eb(sql<number>`sum(g.role = 'steer')`, '>', 0)]))
  if (unitIds) {
    query = query.where('g.unit_id', 'in', db.selectFrom('ticket_weight as others').innerJoin('ticket_weight as own', 'own.ticket_id', 'others.ticket_id')
      .select('others.unit_id').where('own.unit_id', 'in', unitIds))
  }
  return new Map(walk<[number, number]>(raw, query))
}

/** Tickets with their weights; also, by group, which ticket gave it what weight. */
function readTickets(store: Store, extent: Extent) {
  const { db, raw } = store
  const { untilMs, unitIds } = extent
  const groupCounts = readGroupCounts(store, extent)
  const tickets = new Map<number, Mutable<TicketFacts> & { unitIds: number[]; groupIds: number[]; weightsLb: number[] }>()
  let ticketQuery = db.selectFrom('ticket as t').select(['t.id', 't.number', 't.scale_id', 't.weighed_at', 't.gross_lb'])
    .where('t.weighed_at', '<=', toStoredInstant(untilMs)).orderBy('t.weighed_at').orderBy('t.id')
  if (unitIds) ticketQuery = ticketQuery.where('t.id', 'in', db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', unitIds))
  type TicketRow = [number, string, number, string, number | null]
  for (const [ticketId, number, scaleId, weighedAt, grossLb] of walk<TicketRow>(raw, ticketQuery)) {
    tickets.set(ticketId, {
      ticketId, number, scaleId, weighedAt: fromStoredInstant(weighedAt), grossLb, unitIds: [], groupIds: [], weightsLb: [], complete: false,
    })
  }
  const weightOf = new Map<number, Map<number, number>>()
  let weightQuery = db.selectFrom('ticket_weight as w').select(['w.ticket_id', 'w.unit_id', 'w.group_id', 'w.weight_lb']).orderBy('w.id')
  if (unitIds) {
    weightQuery = weightQuery.where('w.ticket_id', 'in', db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', unitIds))
  }
  type WeightRow = [number, number, number | null, number | null]
  for (const [ticketId, unitId, groupId, weightLb] of walk<WeightRow>(raw, weightQuery)) {
    const ticket = tickets.get(ticketId)
    if (!ticket) continue
    if (!ticket.unitIds.includes(unitId)) ticket.unitIds.push(unitId)
    if (groupId === null || weightLb === null) continue
    ticket.groupIds.push(groupId)
    ticket.weightsLb.push(weightLb)
    const weights = weightOf.get(groupId)
    if (weights) weights.set(ticketId, weightLb)
    else weightOf.set(groupId, new Map([[ticketId, weightLb]]))
  }
  for (const ticket of tickets.values()) {
    const expected = ticket.unitIds.reduce((sum, unitId) => sum + (groupCounts.get(unitId) ?? Number.NaN), 0)
    ticket.complete = expected === ticket.groupIds.length
  }
  return { tickets, weightOf }
}

function readReadings({ db, raw }: Store, { untilMs, unitIds }: Extent): Map<number, ReadingFacts> {
  const readings = new Map<number, ReadingFacts>()
  let query = db.selectFrom('reading as r').select(['r.id', 'r.taken_at', 'r.elevation_ft', 'r.lift', 'r.ticket_id'])
    .where('r.taken_at', '<=', toStoredInstant(untilMs))
  if (unitIds) {
    query = query.where('r.id', 'in', db.selectFrom('reading_pressure as p').innerJoin('circuit as c', 'c.id', 'p.circuit_id')
      .innerJoin('axle_group as g', 'g.id', 'c.group_id').select('p.reading_id').where('g.unit_id', 'in', unitIds))
  }
  type ReadingRow = [number, string, number | null, LiftState | null, number | null]
  for (const [id, takenAt, elevationFt, lift, ticketId] of walk<ReadingRow>(raw, query)) {
    readings.set(id, { takenAt: fromStoredInstant(takenAt), elevationFt, lift, ticketId })
  }
  return readings
}

/** Where a circuit's pressure goes: its group and its place among the group's circuits. */
function circuitPlaces(groups: readonly GroupDraft[]): Map<number, { group: GroupDraft; place: number }> {
  const places = new Map<number, { group: GroupDraft; place: number }>()
  for (const group of groups) {
    for (const [place, { circuitId }] of group.circuits.entries()) places.set(circuitId, { group, place })
  }
  return places
}

function byTime(a: Observation, b: Observation): number {
  return a.takenAt - b.takenAt || a.readingId - b.readingId
}

function fillObservations(store: Store, extent: Extent, groups: readonly GroupDraft[], { tickets, weightOf }: ReturnType<typeof readTickets>): void {
  const { db, raw } = store
  const readings = readReadings(store, extent)
  const places = circuitPlaces(groups)
  // In the order of the table, so that the pressures of one reading follow each other.
  let query = db.selectFrom('reading_pressure as p').select(['p.reading_id', 'p.circuit_id', 'p.psi']).orderBy('p.reading_id')
  if (extent.unitIds) {
    query = query.innerJoin('circuit as c', 'c.id', 'p.circuit_id').innerJoin('axle_group as g', 'g.id', 'c.group_id')
      .where('g.unit_id', 'in', extent.unitIds)
  }
  for (const [readingId, circuitId, psi] of walk<[number, number, number]>(raw, query)) {
    const place = places.get(circuitId)
    const reading = readings.get(readingId)
    if (!place || !reading) continue
    const { group } = place
    let current = group.observations.at(-1)
    if (current?.readingId !== readingId) {
      const ticket = reading.ticketId === null ? undefined : tickets.get(reading.ticketId)
      const weightLb = ticket === undefined ? undefined : weightOf.get(group.groupId)?.get(ticket.ticketId)
      current = {
        readingId, takenAt: reading.takenAt, elevationFt: reading.elevationFt, lift: reading.lift, psi: group.circuits.map(() => null),
        ticketId: weightLb === undefined || ticket === undefined ? null : ticket.ticketId,
        scaleId: weightLb === undefined || ticket === undefined ? null : ticket.scaleId,
        weightLb: weightLb ?? null,
      }
      group.observations.push(current)
    }
    const pressures = current.psi as (number | null)[]
    pressures[place.place] = psi
  }
  for (const group of groups) {
    const { observations } = group
    if (observations.some((observation, i) => i > 0 && byTime(observations[i - 1] as Observation, observation) > 0)) observations.sort(byTime)
  }
}

function fillCalibrations(store: Store, extent: Extent, groups: readonly GroupDraft[], { tickets, weightOf }: ReturnType<typeof readTickets>): void {
  const { db, raw } = store
  const byId = new Map(groups.map((group) => [group.groupId, group]))
  const seen = new Map<number, Map<number, Observation>>()
  const observationOf = (group: GroupDraft, readingId: number): Observation | undefined => {
    let index = seen.get(group.groupId)
    if (!index) {
      index = new Map(group.observations.map((observation) => [observation.readingId, observation]))
      seen.set(group.groupId, index)
    }
    return index.get(readingId)
  }
  let query = db.selectFrom('calibration as k').innerJoin('calibration_point as p', 'p.calibration_id', 'k.id')
    .select(['k.id', 'k.group_id', 'k.calibrated_at', 'k.calibrated_by', 'p.ticket_id', 'p.reading_id'])
    .where('k.voided_at', 'is', null).where('k.calibrated_at', '<=', toStoredInstant(extent.untilMs))
    .orderBy('k.group_id').orderBy('k.calibrated_at').orderBy('k.id').orderBy('p.ticket_id').orderBy('p.reading_id')
  if (extent.unitIds) query = query.innerJoin('axle_group as g', 'g.id', 'k.group_id').where('g.unit_id', 'in', extent.unitIds)
  type PointRow = [number, number, string, string | null, number, number]
  for (const [calibrationId, groupId, calibratedAt, calibratedBy, ticketId, readingId] of walk<PointRow>(raw, query)) {
    const group = byId.get(groupId)
    if (!group) continue
    let current = group.calibrations.at(-1)
    if (current?.calibrationId !== calibrationId) {
      current = { calibrationId, calibratedAt: fromStoredInstant(calibratedAt), calibratedBy, points: [] }
      group.calibrations.push(current)
    }
    const observation = observationOf(group, readingId)
    if (!observation) continue
    // A ticket that did not weigh this group stays, without a weight: the calibration is refused for it, not bent by losing a point.
    const weightLb = weightOf.get(groupId)?.get(ticketId) ?? null
    const scaleId = weightLb === null ? null : (tickets.get(ticketId)?.scaleId ?? null)
    const point = observation.ticketId === ticketId ? observation : { ...observation, ticketId, scaleId, weightLb }
    ;(current.points as Observation[]).push(point)
  }
}

function fillEvents({ db, raw }: Store, { untilMs, unitIds }: Extent, groups: readonly GroupDraft[]): void {
  const ofUnit = new Map<number, GroupDraft[]>()
  for (const group of groups) listOf(ofUnit, group.unitId).push(group)
  let query = db.selectFrom('event as e').select(['e.unit_id', 'e.group_id', 'e.circuit_id', 'e.happened_at', 'e.kind', 'e.note'])
    .where('e.happened_at', '<=', toStoredInstant(untilMs)).orderBy('e.happened_at').orderBy('e.id')
  if (unitIds) query = query.where('e.unit_id', 'in', unitIds)
  type EventRow = [number, number | null, number | null, string, EventKind, string | null]
  for (const [unitId, groupId, circuitId, happenedAt, kind, note] of walk<EventRow>(raw, query)) {
    for (const group of ofUnit.get(unitId) ?? []) {
      if (groupId === null || groupId === group.groupId) group.events.push({ happenedAt: fromStoredInstant(happenedAt), kind, circuitId, note })
    }
  }
}

/**
 * The record of the sensed groups as the assessment reads it, in a handful of queries whatever the fleet's size. Takes
 * about a second for a million pressures: run it off the window's thread.
 */
export function readRecord(store: Store, extent: Extent): FleetRecord {
  const all = readGroups(store, extent)
  const sensed = all.filter(isSensed)
  const ticketed = readTickets(store, extent)
  fillObservations(store, extent, sensed, ticketed)
  fillCalibrations(store, extent, sensed, ticketed)
  fillEvents(store, extent, sensed)
  const groups: readonly GroupHistory[] = sensed
  return { groups, scales: readScales(store), tickets: ticketed.tickets }
}
