import type { CalibrationFacts, GroupFacts, Observation } from '#core/fleet/history.ts'
import { fromStoredInstant } from '#core/fleet/instant.ts'
import type { LiftState } from '#core/fleet/vocabulary.ts'
import { walk } from '#core/store/bulk.ts'
import type { Store } from '#core/store/open.ts'

/** The readings and tickets behind calibration points, each read once though the groups of a combination share them. */
function readEvidence({ db, raw }: Store, unitIds: readonly number[] | undefined) {
  let points = db.selectFrom('calibration_point as p').innerJoin('calibration as k', 'k.id', 'p.calibration_id').where('k.voided_at', 'is', null)
  if (unitIds) points = points.innerJoin('axle_group as g', 'g.id', 'k.group_id').where('g.unit_id', 'in', unitIds)
  const ofReadings = points.select('p.reading_id')
  const ofTickets = points.select('p.ticket_id')

  const pressures = new Map<number, [circuitId: number, psi: number][]>()
  const pressureQuery = db.selectFrom('reading_pressure as rp').select(['rp.reading_id', 'rp.circuit_id', 'rp.psi']).where('rp.reading_id', 'in', ofReadings)
  for (const [readingId, circuitId, psi] of walk<[number, number, number]>(raw, pressureQuery)) {
    const own = pressures.get(readingId)
    if (own) own.push([circuitId, psi])
    else pressures.set(readingId, [[circuitId, psi]])
  }
  const readings = new Map<number, { takenAt: number; elevationFt: number | null; lift: LiftState | null; pressures: readonly [number, number][] }>()
  const readingQuery = db.selectFrom('reading as r').select(['r.id', 'r.taken_at', 'r.elevation_ft', 'r.lift']).where('r.id', 'in', ofReadings)
  for (const [id, takenAt, elevationFt, lift] of walk<[number, string, number | null, LiftState | null]>(raw, readingQuery)) {
    readings.set(id, { takenAt: fromStoredInstant(takenAt), elevationFt, lift, pressures: pressures.get(id) ?? [] })
  }

  const tickets = new Map<number, { scaleId: number; scaleFt: number | null; weights: [groupId: number, weightLb: number][] }>()
  const ticketQuery = db.selectFrom('ticket as t').innerJoin('scale as s', 's.id', 't.scale_id').select(['t.id', 't.scale_id', 's.elevation_ft']).where('t.id', 'in', ofTickets)
  for (const [id, scaleId, scaleFt] of walk<[number, number, number | null]>(raw, ticketQuery)) tickets.set(id, { scaleId, scaleFt, weights: [] })
  const weightQuery = db.selectFrom('ticket_weight as w').select(['w.ticket_id', 'w.group_id', 'w.weight_lb']).where('w.ticket_id', 'in', ofTickets)
  for (const [ticketId, groupId, weightLb] of walk<[number, number | null, number | null]>(raw, weightQuery)) {
    if (groupId !== null && weightLb !== null) tickets.get(ticketId)?.weights.push([groupId, weightLb])
  }
  return { readings, tickets }
}

/**
 * The calibrations of groups, by group and in the order of time, with their points alone: a fleet has a hundred readings for
 * every point. A point whose elevation was not noted was taken where its ticket's scale stands.
 */
export function readPointCalibrations(store: Store, groups: readonly GroupFacts[], unitIds: readonly number[] | undefined): Map<number, CalibrationFacts[]> {
  const { db, raw } = store
  const { readings, tickets } = readEvidence(store, unitIds)
  const groupOf = new Map(groups.map((group) => [group.groupId, group]))

  const pointOf = ({ groupId, circuits }: GroupFacts, ticketId: number, readingId: number): Observation | undefined => {
    const reading = readings.get(readingId)
    const ticket = tickets.get(ticketId)
    if (!reading || !ticket) return undefined
    const psi = circuits.map(({ circuitId }) => reading.pressures.find(([id]) => id === circuitId)?.[1] ?? null)
    if (psi.every((value) => value === null)) return undefined
    // A ticket that did not weigh this group stays, without a weight: the calibration is refused for it.
    const weightLb = ticket.weights.find(([id]) => id === groupId)?.[1] ?? null
    return {
      readingId, ticketId, psi, weightLb, lift: reading.lift, takenAt: reading.takenAt, elevationFt: reading.elevationFt ?? ticket.scaleFt,
      scaleId: weightLb === null ? null : ticket.scaleId,
    }
  }

  let query = db.selectFrom('calibration as k').innerJoin('calibration_point as p', 'p.calibration_id', 'k.id').where('k.voided_at', 'is', null)
    .select(['k.id', 'k.group_id', 'k.calibrated_at', 'k.calibrated_by', 'p.ticket_id', 'p.reading_id'])
    .orderBy('k.group_id').orderBy('k.calibrated_at').orderBy('k.id').orderBy('p.ticket_id').orderBy('p.reading_id')
  if (unitIds) query = query.innerJoin('axle_group as g', 'g.id', 'k.group_id').where('g.unit_id', 'in', unitIds)
  const calibrations = new Map<number, (CalibrationFacts & { readonly points: Observation[] })[]>()
  for (const [calibrationId, groupId, calibratedAt, calibratedBy, ticketId, readingId] of walk<[number, number, string, string | null, number, number]>(raw, query)) {
    const group = groupOf.get(groupId)
    if (!group) continue
    let own = calibrations.get(groupId)
    if (!own) {
      own = []
      calibrations.set(groupId, own)
    }
    let current = own.at(-1)
    if (current?.calibrationId !== calibrationId) {
      current = { calibrationId, calibratedAt: fromStoredInstant(calibratedAt), calibratedBy, points: [] }
      own.push(current)
    }
    const point = pointOf(group, ticketId, readingId)
    if (point) current.points.push(point)
  }
  return calibrations
}
