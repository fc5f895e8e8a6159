import type { Change, Hand } from '#core/fleet/change.ts'
import type { LiftState } from '#core/fleet/vocabulary.ts'
import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { freeReadingName } from '#core/store/save-reading.ts'

/** A ticket with, where pressures were noted at the same moment, its reading. Times stored instants; weights lb, pressures psi. */
export interface TicketRecord {
  readonly number: string
  readonly weighedAt: string
  readonly localZone: string | null
  readonly grossLb: number | null
  readonly weights: readonly { readonly unitId: number; readonly groupId: number; readonly weightLb: number }[]
  readonly reading: {
    readonly elevationFt: number | null
    readonly temperatureF: number | null
    readonly lift: LiftState | null
    readonly pressures: readonly { readonly circuitId: number; readonly psi: number }[]
  } | null
}

export interface CalibrationRecord {
  readonly unitId: number
  readonly groupId: number
  /** How people name the group. */
  readonly name: string
  readonly calibratedAt: string
  /** Places of its points among the tickets; each has a reading. */
  readonly points: readonly number[]
}

export interface WeighInRecord {
  readonly scaleId: number
  readonly scale: string
  /** In coupling order; the first leads. */
  readonly unitIds: readonly number[]
  readonly tickets: readonly TicketRecord[]
  readonly calibrations: readonly CalibrationRecord[]
}

/** Numbers among some that the scale already has a ticket of. */
export async function takenTicketNumbers(db: Reader, scaleId: number, numbers: readonly string[]): Promise<string[]> {
  if (numbers.length === 0) return []
  return (await db.selectFrom('ticket').select('number').where('scale_id', '=', scaleId).where('number', 'in', numbers).execute()).map(({ number }) => number)
}

/** Groups that already have a valid calibration of the very time. */
export async function calibratedThen(db: Reader, calibrations: readonly CalibrationRecord[]): Promise<string[]> {
  const names: string[] = []
  for (const { groupId, calibratedAt, name } of calibrations) {
    const found = await db.selectFrom('calibration').select('id').where('group_id', '=', groupId).where('calibrated_at', '=', calibratedAt).where('voided_at', 'is', null).executeTakeFirst()
    if (found) names.push(name)
  }
  return names
}

async function addTicket(db: Writer, { scaleId, unitIds }: WeighInRecord, ticket: TicketRecord): Promise<number> {
  const { id } = await db.insertInto('ticket').values({
    scale_id: scaleId, number: ticket.number, weighed_at: ticket.weighedAt, local_zone: ticket.localZone, gross_lb: ticket.grossLb, note: null,
  }).returning('id').executeTakeFirstOrThrow()
  const weighed = new Set(ticket.weights.map(({ unitId }) => unitId))
  await db.insertInto('ticket_weight').values([
    ...ticket.weights.map(({ unitId, groupId, weightLb }) => ({ ticket_id: id, unit_id: unitId, group_id: groupId, weight_lb: weightLb })),
    // A unit that stood on the scale without a weight of its own is named all the same.
    ...unitIds.filter((unitId) => !weighed.has(unitId)).map((unitId) => ({ ticket_id: id, unit_id: unitId, group_id: null, weight_lb: null })),
  ]).execute()
  return id
}

async function addTicketReading(db: Writer, ticketId: number, { weighedAt, localZone, reading }: TicketRecord): Promise<{ id: number; name: string } | null> {
  if (reading === null) return null
  const name = await freeReadingName(db, weighedAt)
  const { id } = await db.insertInto('reading').values({
    name, taken_at: weighedAt, local_zone: localZone, ticket_id: ticketId, elevation_ft: reading.elevationFt, temperature_f: reading.temperatureF, lift: reading.lift, source: 'weigh-in', note: null,
  }).returning('id').executeTakeFirstOrThrow()
  await db.insertInto('reading_pressure').values(reading.pressures.map(({ circuitId, psi }) => ({ reading_id: id, circuit_id: circuitId, psi }))).execute()
  return { id, name }
}

/** Stores a visit to the scale as one change: its tickets, their readings, and the calibrations made of them. Answers the readings' names, null where a ticket has none. */
export async function saveWeighIn(db: Writer, record: WeighInRecord, hand: Hand): Promise<(string | null)[]> {
  const unitId = record.unitIds[0] ?? null
  const changes: Change[] = []
  const stored: { ticketId: number; reading: { id: number; name: string } | null }[] = []
  for (const ticket of record.tickets) {
    const ticketId = await addTicket(db, record, ticket)
    const reading = await addTicketReading(db, ticketId, ticket)
    stored.push({ ticketId, reading })
    const { weighedAt, grossLb, weights } = ticket
    changes.push({ unitId, subject: 'ticket', key: `${ticket.number} of ${record.scale}`, action: 'added', recordId: ticketId, new: { weighed_at: weighedAt, gross_lb: grossLb, weights: weights.map(({ groupId, weightLb }) => ({ group_id: groupId, weight_lb: weightLb })) } })
    if (reading && ticket.reading) {
      changes.push({ unitId, subject: 'reading', key: reading.name, action: 'added', recordId: reading.id, new: { taken_at: weighedAt, ticket: ticket.number, lift: ticket.reading.lift, elevation_ft: ticket.reading.elevationFt, pressures: ticket.reading.pressures.map(({ circuitId, psi }) => ({ circuit_id: circuitId, psi })) } })
    }
  }
  for (const { unitId: owner, groupId, name, calibratedAt, points } of record.calibrations) {
    const { id } = await db.insertInto('calibration').values({ group_id: groupId, calibrated_at: calibratedAt, calibrated_by: hand.by, voided_at: null, voided_by: null, void_reason: null }).returning('id').executeTakeFirstOrThrow()
    await db.insertInto('calibration_point').values(points.map((place) => {
      const point = stored[place]
      if (!point?.reading) throw new RangeError(`point ${place} of a calibration has no reading`)
      return { calibration_id: id, ticket_id: point.ticketId, reading_id: point.reading.id }
    })).execute()
    changes.push({ unitId: owner, subject: 'calibration', key: `${name} of ${calibratedAt}`, action: 'added', recordId: id, new: { calibrated_at: calibratedAt, tickets: points.map((place) => record.tickets[place]?.number ?? '') } })
  }
  await recordChanges(db, hand, changes)
  return stored.map(({ reading }) => reading?.name ?? null)
}

/** A calibration under the names people use; undefined when there is none. */
export function findCalibration(db: Reader, id: number) {
  return db.selectFrom('calibration as k').innerJoin('axle_group as g', 'g.id', 'k.group_id').innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['k.id', 'k.calibrated_at', 'k.voided_at', 'k.voided_by', 'g.name as group', 'u.number as unit', 'u.id as unit_id']).where('k.id', '=', id).executeTakeFirst()
}

/** Voids a calibration, which is never edited and stays with its reason. */
export async function voidCalibration(db: Writer, { id, unit_id, unit, group, calibrated_at }: NonNullable<Awaited<ReturnType<typeof findCalibration>>>, reason: string, hand: Hand): Promise<void> {
  await db.updateTable('calibration').set({ voided_at: hand.at, voided_by: hand.by, void_reason: reason }).where('id', '=', id).execute()
  await recordChanges(db, hand, [{ unitId: unit_id, subject: 'calibration', key: `${unit} ${group} of ${calibrated_at}`, action: 'voided', recordId: id, old: { voided: false }, new: { voided: true }, reason }])
}
