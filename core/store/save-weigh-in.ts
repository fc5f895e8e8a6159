import { recordChanges } from '#core/store/change-log.ts'
import type { CommonWeight } from '#core/evidence/history.ts'
import { findLookAlike } from '#core/store/look-alikes.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { placedCircuits, placedCalibrations } from '#core/store/placed.ts'
import { readZone } from '#core/store/zone.ts'
import type { Change, Hand } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A reading as typed: pressures by circuit, psi as the sensor shows them. takenAt: stored instant. */
export interface TypedReading {
  readonly takenAt: string
  readonly localZone: string | null
  readonly elevationFt: number | null
  readonly temperatureF: number | null
  readonly lift: LiftState | null
  readonly note: string | null
  readonly driver: string | null
  readonly lane: string | null
  readonly pressures: readonly { readonly circuitId: number; readonly psi: number }[]
}

/** The circuits of units under the names people use. */
export function listNamedCircuits(db: Reader, unitIds: readonly number[]) {
  return placedCircuits(db)
    .select(['c.id', 'c.name as circuit', 'g.name as group', 'u.number as unit'])
    .where('u.id', 'in', unitIds)
    .orderBy('c.id')
    .execute()
}

/** The first free name of a day: W-20261125-1 and on. */
async function freeReadingName(db: Reader, takenAt: string): Promise<string> {
  const day = dayOf(fromStoredInstant(takenAt), await readZone(db))
  const head = `W-${day.replaceAll('-', '')}-`
  const rows = await db
    .selectFrom('reading')
    .select('name')
    .where('name', '>=', head)
    .where('name', '<', `${head}:`)
    .execute()
  const taken = rows.map(({ name }) => Number(name.slice(head.length))).filter((number) => Number.isInteger(number))
  return `${head}${Math.max(0, ...taken) + 1}`
}

/** Where a reading comes from, and the ticket that was weighed at the same moment. */
export interface ReadingOrigin {
  readonly source: 'weigh now' | 'weigh-in'
  readonly ticket: { readonly id: number; readonly number: string } | null
}

/** Keeps the units of a combination that neither the reading's pressures nor its ticket name. */
async function keepUnreadUnits(
  db: Writer,
  readingId: number,
  unitIds: readonly number[],
  { pressures }: TypedReading,
): Promise<void> {
  const read = await placedCircuits(db)
    .select('g.unit_id')
    .distinct()
    .where(
      'c.id',
      'in',
      pressures.map(({ circuitId }) => circuitId),
    )
    .execute()
  const unread = unitIds.filter((unitId) => !read.some(({ unit_id }) => unit_id === unitId))
  if (unread.length === 0) return
  await db
    .insertInto('reading_unit')
    .values(unread.map((unitId) => ({ reading_id: readingId, unit_id: unitId })))
    .execute()
}

/**
 * Adds a reading with its pressures and the units that stood in the combination, the first at its head; answers its
 * name and the change, which is the caller's to take down.
 */
export async function addReading(
  db: Writer,
  unitIds: readonly number[],
  reading: TypedReading,
  { source, ticket }: ReadingOrigin,
): Promise<{ id: number; name: string; change: Change }> {
  const { takenAt, localZone, elevationFt, temperatureF, lift, note, driver, lane, pressures } = reading
  const name = await freeReadingName(db, takenAt)
  const { id } = await db
    .insertInto('reading')
    .values({
      name,
      taken_at: takenAt,
      local_zone: localZone,
      ticket_id: ticket?.id ?? null,
      elevation_ft: elevationFt,
      temperature_f: temperatureF,
      lift,
      source,
      note,
      driver,
      lane,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  await db
    .insertInto('reading_pressure')
    .values(pressures.map(({ circuitId, psi }) => ({ reading_id: id, circuit_id: circuitId, psi })))
    .execute()
  if (ticket === null) await keepUnreadUnits(db, id, unitIds, reading)
  const change: Change = {
    unitId: unitIds[0] ?? null,
    subject: 'reading',
    key: name,
    action: 'added',
    recordId: id,
    new: {
      taken_at: takenAt,
      ...(ticket && { ticket: ticket.number }),
      lift,
      elevation_ft: elevationFt,
      temperature_f: temperatureF,
      note,
      driver,
      lane,
      pressures: pressures.map(({ circuitId, psi }) => ({ circuit_id: circuitId, psi })),
    },
  }
  return { id, name, change }
}

/** A ticket with, where pressures were noted at the same moment, its reading. Times stored instants; weights lb. */
export interface TicketRecord {
  readonly number: string
  readonly weighedAt: string
  readonly localZone: string | null
  readonly grossLb: number | null
  readonly weights: readonly { readonly unitId: number; readonly groupId: number; readonly weightLb: number }[]
  /** Of two groups on one platform, neither of which has a weight of its own. */
  readonly together: readonly (CommonWeight & { readonly unitId: number })[]
  readonly driver: string | null
  readonly lane: string | null
  readonly reading: TypedReading | null
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
  /** null for a visit without a ticket. */
  readonly scale: { readonly id: number; readonly name: string } | null
  /** In coupling order; the first leads. */
  readonly unitIds: readonly number[]
  readonly tickets: readonly TicketRecord[]
  /** Without a ticket. */
  readonly readings: readonly TypedReading[]
  readonly calibrations: readonly CalibrationRecord[]
}

export interface SavedWeighIn {
  /** The id of each ticket. */
  readonly tickets: number[]
  /** The name of each ticket's reading; null where it has none. */
  readonly readings: (string | null)[]
  /** The names of the readings without a ticket. */
  readonly alone: string[]
}

/** Numbers among some that the scale already has a ticket of. */
export async function takenTicketNumbers(db: Reader, scaleId: number, numbers: readonly string[]): Promise<string[]> {
  if (numbers.length === 0) return []
  return (
    await db
      .selectFrom('ticket')
      .select('number')
      .where('scale_id', '=', scaleId)
      .where('number', 'in', numbers)
      .execute()
  ).map(({ number }) => number)
}

const ticketNumbers = { table: 'ticket', scope: ['scale_id'], name: 'number' } as const

/** A number among some that looks like another one that the scale has a ticket of, and that one. */
export async function alikeTicketNumber(
  db: Reader,
  scaleId: number,
  numbers: readonly string[],
): Promise<{ readonly number: string; readonly stored: string } | undefined> {
  for (const number of numbers) {
    const stored = await findLookAlike(db, ticketNumbers, { scale_id: scaleId }, number)
    if (stored !== undefined) return { number, stored }
  }
  return undefined
}

/** Groups that already have a valid calibration of the very time. */
export async function calibratedThen(db: Reader, calibrations: readonly CalibrationRecord[]): Promise<string[]> {
  const names: string[] = []
  for (const { groupId, calibratedAt, name } of calibrations) {
    const found = await db
      .selectFrom('calibration')
      .select('id')
      .where('group_id', '=', groupId)
      .where('calibrated_at', '=', calibratedAt)
      .where('voided_at', 'is', null)
      .executeTakeFirst()
    if (found) names.push(name)
  }
  return names
}

/** A ticket and its reading, both stored, as a point of a calibration. ticket: its number, for the log. */
export interface StoredPoint {
  readonly ticketId: number
  readonly readingId: number
  readonly ticket: string
}

/** Adds a calibration of stored tickets and readings; answers the change, which is the caller's to take down. */
export async function addCalibration(
  db: Writer,
  {
    unitId,
    groupId,
    name,
    calibratedAt,
    points,
  }: Omit<CalibrationRecord, 'points'> & { readonly points: readonly StoredPoint[] },
  by: string,
): Promise<Change> {
  const { id } = await db
    .insertInto('calibration')
    .values({
      group_id: groupId,
      calibrated_at: calibratedAt,
      calibrated_by: by,
      voided_at: null,
      voided_by: null,
      void_reason: null,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  await db
    .insertInto('calibration_point')
    .values(
      points.map(({ ticketId, readingId }) => ({ calibration_id: id, ticket_id: ticketId, reading_id: readingId })),
    )
    .execute()
  return {
    unitId,
    subject: 'calibration',
    key: `${name} of ${calibratedAt}`,
    action: 'added',
    recordId: id,
    new: { calibrated_at: calibratedAt, tickets: points.map(({ ticket }) => ticket) },
  }
}

async function addTicket(
  db: Writer,
  scaleId: number,
  unitIds: readonly number[],
  ticket: TicketRecord,
): Promise<number> {
  const { id } = await db
    .insertInto('ticket')
    .values({
      scale_id: scaleId,
      number: ticket.number,
      weighed_at: ticket.weighedAt,
      local_zone: ticket.localZone,
      gross_lb: ticket.grossLb,
      driver: ticket.driver,
      lane: ticket.lane,
      note: null,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  // A unit without a weight of its own is named all the same, and so is one with a weight of two groups.
  const alone = new Set(ticket.weights.map(({ unitId }) => unitId))
  const inPairs = new Set(ticket.together.map(({ unitId }) => unitId))
  await db
    .insertInto('ticket_weight')
    .values([
      ...ticket.weights.map(({ unitId, groupId, weightLb }) => ({
        ticket_id: id,
        unit_id: unitId,
        group_id: groupId,
        weight_lb: weightLb,
      })),
      ...unitIds
        .filter((unitId) => !alone.has(unitId) || inPairs.has(unitId))
        .map((unitId) => ({ ticket_id: id, unit_id: unitId, group_id: null, weight_lb: null })),
    ])
    .execute()
  if (ticket.together.length > 0)
    await db
      .insertInto('ticket_together')
      .values(
        ticket.together.map(({ unitId, groupIds: [first, second], weightLb }) => ({
          ticket_id: id,
          unit_id: unitId,
          first_group_id: first,
          second_group_id: second,
          weight_lb: weightLb,
        })),
      )
      .execute()
  return id
}

/**
 * Stores a visit to the scale as one change: its tickets with their readings, readings alone, and the calibrations made
 * of them.
 */
export async function saveWeighIn(
  db: Writer,
  { scale, unitIds, tickets, readings, calibrations }: WeighInRecord,
  hand: Hand,
): Promise<SavedWeighIn> {
  const unitId = unitIds[0] ?? null
  const changes: Change[] = []
  const keep = async (reading: TypedReading, ticket: { readonly id: number; readonly number: string } | null) => {
    const { id, name, change } = await addReading(db, unitIds, reading, { source: 'weigh-in', ticket })
    changes.push(change)
    return { id, name }
  }
  const stored: { ticketId: number; reading: { id: number; name: string } | null }[] = []
  for (const ticket of tickets) {
    if (scale === null) throw new RangeError(`ticket ${ticket.number} is of no scale`)
    const { number, weighedAt, grossLb, weights, together, driver, lane, reading } = ticket
    const ticketId = await addTicket(db, scale.id, unitIds, ticket)
    changes.push({
      unitId,
      subject: 'ticket',
      key: `${number} of ${scale.name}`,
      action: 'added',
      recordId: ticketId,
      new: {
        weighed_at: weighedAt,
        gross_lb: grossLb,
        driver,
        lane,
        weights: weights.map(({ groupId, weightLb }) => ({ group_id: groupId, weight_lb: weightLb })),
        ...(together.length > 0 && {
          together: together.map(({ groupIds, weightLb }) => ({ group_ids: groupIds, weight_lb: weightLb })),
        }),
      },
    })
    stored.push({ ticketId, reading: reading && (await keep(reading, { id: ticketId, number })) })
  }
  const alone: string[] = []
  for (const reading of readings) alone.push((await keep(reading, null)).name)
  for (const { points, ...calibration } of calibrations) {
    const pairs = points.map((place) => {
      const point = stored[place]
      if (!point?.reading) throw new RangeError(`point ${place} of a calibration has no reading`)
      return { ticketId: point.ticketId, readingId: point.reading.id, ticket: tickets[place]?.number ?? '' }
    })
    changes.push(await addCalibration(db, { ...calibration, points: pairs }, hand.by))
  }
  await recordChanges(db, hand, changes)
  return {
    tickets: stored.map(({ ticketId }) => ticketId),
    readings: stored.map(({ reading }) => reading?.name ?? null),
    alone,
  }
}

/** A calibration under the names people use; undefined when there is none. */
export function findCalibration(db: Reader, id: number) {
  return placedCalibrations(db)
    .select([
      'k.id',
      'k.calibrated_at',
      'k.voided_at',
      'k.voided_by',
      'g.name as group',
      'u.number as unit',
      'u.id as unit_id',
    ])
    .where('k.id', '=', id)
    .executeTakeFirst()
}

/** What the log calls it when a calibration is taken out of use. */
export const voidedAction = 'voided'

/** Voids a calibration, which is never edited and stays with its reason. */
export async function voidCalibration(
  db: Writer,
  { id, unit_id, unit, group, calibrated_at }: NonNullable<Awaited<ReturnType<typeof findCalibration>>>,
  reason: string,
  hand: Hand,
): Promise<void> {
  await db
    .updateTable('calibration')
    .set({ voided_at: hand.at, voided_by: hand.by, void_reason: reason })
    .where('id', '=', id)
    .execute()
  await recordChanges(db, hand, [
    {
      unitId: unit_id,
      subject: 'calibration',
      key: `${unit} ${group} of ${calibrated_at}`,
      action: voidedAction,
      recordId: id,
      old: { voided: false },
      new: { voided: true },
      reason,
    },
  ])
}
