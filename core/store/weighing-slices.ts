import type { Expression, ExpressionBuilder, SqlBool } from 'kysely'
import { elevationOfReading } from '#core/evidence/elevation.ts'
import type { CommonWeight } from '#core/evidence/history.ts'
import { liftOfTicket } from '#core/evidence/lift.ts'
import { type FleetPlaces, headYardFt, inCouplingOrder } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { type OnReadings, unitsOfReadings } from '#core/store/reading-units.ts'
import { walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import type { CertifiedTicket } from '#core/weight/combination-weights.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A reading with the units that it and its ticket speak of, in coupling order. */
export interface ReadingOfUnits extends CombinationReading {
  readonly readingId: number
  readonly name: string
  readonly ticketId: number | null
  readonly unitIds: readonly number[]
}

/** A ticket with the readings that belong to it. Its units, in coupling order, are those of all of them. */
export interface TicketOfUnits extends CertifiedTicket {
  readonly ticketId: number
  readonly weighedAt: number
  readonly unitIds: readonly number[]
  readonly readings: readonly ReadingOfUnits[]
}

export type OnTickets = (eb: ExpressionBuilder<Schema & { t: Schema['ticket'] }, 't'>) => Expression<SqlBool>

interface TicketRows {
  readonly unitIds: number[]
  readonly weightsLb: Map<number, number>
}

/** The weights of two groups on one platform, by ticket. */
function readTogether({ db, raw }: Store, which: OnTickets): Map<number, CommonWeight[]> {
  const rows = db
    .selectFrom('ticket_together as b')
    .select(['b.ticket_id', 'b.first_group_id', 'b.second_group_id', 'b.weight_lb'])
    .where('b.ticket_id', 'in', db.selectFrom('ticket as t').select('t.id').where(which))
    .orderBy('b.id')
  const together = new Map<number, CommonWeight[]>()
  for (const [ticketId, first, second, weightLb] of walk<[number, number, number, number]>(raw, rows)) {
    const own = together.get(ticketId) ?? []
    together.set(ticketId, [...own, { groupIds: [first, second], weightLb }])
  }
  return together
}

/** The units of tickets in the order of their rows, and their weights by group. */
function gatherTickets(
  rows: Iterable<[ticketId: number, unitId: number, groupId: number | null, weightLb: number | null]>,
): Map<number, TicketRows> {
  const tickets = new Map<number, TicketRows>()
  for (const [ticketId, unitId, groupId, weightLb] of rows) {
    let ticket = tickets.get(ticketId)
    if (!ticket) {
      ticket = { unitIds: [], weightsLb: new Map() }
      tickets.set(ticketId, ticket)
    }
    if (!ticket.unitIds.includes(unitId)) ticket.unitIds.push(unitId)
    if (groupId !== null && weightLb !== null) ticket.weightsLb.set(groupId, weightLb)
  }
  return tickets
}

type OnTicketRows = (eb: ExpressionBuilder<Schema & { w: Schema['ticket_weight'] }, 'w'>) => Expression<SqlBool>

/** The units of tickets in the order of their rows, and their weights by group. */
function readTicketRows({ db, raw }: Store, which: OnTicketRows): Map<number, TicketRows> {
  const rows = db
    .selectFrom('ticket_weight as w')
    .select(['w.ticket_id', 'w.unit_id', 'w.group_id', 'w.weight_lb'])
    .where(which)
    .orderBy('w.ticket_id')
    .orderBy('w.id')
  return gatherTickets(walk(raw, rows))
}

type Pressures = Map<number, (number | null)[]>

/** The pressures of readings by group, in the order of the group's circuits. */
function gatherPressures(
  rows: Iterable<[readingId: number, circuitId: number, psi: number]>,
  { circuits }: FleetPlaces,
): Map<number, Pressures> {
  const readings = new Map<number, Pressures>()
  for (const [readingId, circuitId, psi] of rows) {
    const place = circuits.get(circuitId)
    // A circuit that came between two statements waits for the next look.
    if (place === undefined) continue
    let pressures = readings.get(readingId)
    if (pressures === undefined) {
      pressures = new Map()
      readings.set(readingId, pressures)
    }
    let group = pressures.get(place.groupId)
    if (group === undefined) {
      group = new Array<number | null>(place.circuits).fill(null)
      pressures.set(place.groupId, group)
    }
    group[place.circuit] = psi
  }
  return readings
}

/**
 * The readings that a condition names, by rising id, each where it was taken (`elevationOfReading`). units: of each
 * reading, where the caller knows them.
 */
export function readReadings(
  store: Store,
  places: FleetPlaces,
  which: OnReadings,
  units: ReadonlyMap<number, readonly number[]> = unitsOfReadings(store, places, which),
): ReadingOfUnits[] {
  const { db, raw } = store
  type Row = [number, string, string, number | null, number | null, LiftState | null, number | null, number | null]
  const rows = [
    ...walk<Row>(
      raw,
      db
        .selectFrom('reading as r')
        .leftJoin('ticket as t', 't.id', 'r.ticket_id')
        .select([
          'r.id',
          'r.name',
          'r.taken_at',
          'r.elevation_ft',
          'r.temperature_f',
          'r.lift',
          'r.ticket_id',
          't.scale_id',
        ])
        .where(which)
        .orderBy('r.id'),
    ),
  ]
  const ticketed = db.selectFrom('reading as r').select('r.ticket_id').where('r.ticket_id', 'is not', null).where(which)
  const tickets = readTicketRows(store, (eb) => eb('w.ticket_id', 'in', ticketed))
  const pressuresOf = gatherPressures(
    walk(
      raw,
      db
        .selectFrom('reading as r')
        .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
        .select(['p.reading_id', 'p.circuit_id', 'p.psi'])
        .where(which),
    ),
    places,
  )
  return rows.map(([readingId, name, takenAt, elevationFt, temperatureF, lift, ticketId, scaleId]) => {
    const ticket = ticketId === null ? undefined : tickets.get(ticketId)
    const unitIds = units.get(readingId) ?? []
    return {
      readingId,
      name,
      ticketId,
      unitIds,
      temperatureF,
      lift,
      pressures: pressuresOf.get(readingId) ?? new Map<number, (number | null)[]>(),
      takenAt: fromStoredInstant(takenAt),
      elevationFt: elevationOfReading({
        notedFt: elevationFt,
        scaleFt: scaleId === null ? null : (places.scaleFt.get(scaleId) ?? null),
        headYardFt: headYardFt(unitIds, places),
      }),
      ticket: ticket === undefined || scaleId === null ? null : { scaleId, weightsLb: ticket.weightsLb },
    }
  })
}

/** The readings that a condition names, by rising id, each with its units in coupling order. */
export function unitsInReadings(store: Store, places: FleetPlaces, which: OnReadings): [id: number, number[]][] {
  const { db, raw } = store
  const units = unitsOfReadings(store, places, which)
  const rows = walk<[number]>(raw, db.selectFrom('reading as r').select('r.id').where(which).orderBy('r.id'))
  return Array.from(rows, ([readingId]) => [readingId, units.get(readingId) ?? []])
}

/** The units of a ticket, in coupling order: those that it names itself, and those of its readings. */
const unitsOnTicket = (
  named: readonly number[],
  ofReadings: Iterable<readonly number[]>,
  places: FleetPlaces,
): number[] => inCouplingOrder([...new Set([named, ...ofReadings].flat())], places)

/** Tickets, each with its readings up to a moment (ms UTC; left out, all). */
export interface WhichTickets {
  readonly which: OnTickets
  readonly untilMs?: number | undefined
}

/** The readings of some tickets. */
function readingsOn({ db }: Store, { which, untilMs }: WhichTickets): OnReadings {
  const named = db.selectFrom('ticket as t').select('t.id').where(which)
  return (eb) => {
    const own = eb('r.ticket_id', 'in', named)
    return untilMs === undefined ? own : eb.and([own, eb('r.taken_at', '<=', toStoredInstant(untilMs))])
  }
}

/** The tickets that a condition names, by rising id, each with its units in coupling order. */
export function unitsInTickets(store: Store, places: FleetPlaces, tickets: WhichTickets): [id: number, number[]][] {
  const { db, raw } = store
  const named = db.selectFrom('ticket as t').select('t.id').where(tickets.which)
  const own = readingsOn(store, tickets)
  const ofReading = unitsOfReadings(store, places, own)
  const readings = Map.groupBy(
    walk<[number, number]>(
      raw,
      db.selectFrom('reading as r').select(['r.ticket_id', 'r.id']).where(own).orderBy('r.id'),
    ),
    ([ticketId]) => ticketId,
  )
  const rows = readTicketRows(store, (eb) => eb('w.ticket_id', 'in', named))
  return Array.from(walk<[number]>(raw, named.orderBy('t.id')), ([ticketId]) => [
    ticketId,
    unitsOnTicket(
      rows.get(ticketId)?.unitIds ?? [],
      (readings.get(ticketId) ?? []).map(([, readingId]) => ofReading.get(readingId) ?? []),
      places,
    ),
  ])
}

/** The lift state that a ticket was weighed in: as its readings note it, or as the weight of a lift axle tells. */
function liftOf(
  { weightsLb }: TicketRows,
  readings: readonly ReadingOfUnits[],
  { liftGroups }: FleetPlaces,
): LiftState | null {
  const onLift = [...weightsLb].find(([groupId]) => liftGroups.has(groupId))
  return liftOfTicket(readings.find(({ lift }) => lift !== null)?.lift ?? null, onLift?.[1] ?? null)
}

/** The tickets that a condition names, by rising id, each with its readings. */
export function readTickets(store: Store, places: FleetPlaces, asked: WhichTickets): TicketOfUnits[] {
  const { db, raw } = store
  const { which } = asked
  const tickets = [
    ...walk<[number, number, string, number | null]>(
      raw,
      db
        .selectFrom('ticket as t')
        .select(['t.id', 't.scale_id', 't.weighed_at', 't.gross_lb'])
        .where(which)
        .orderBy('t.id'),
    ),
  ]
  const named = db.selectFrom('ticket as t').select('t.id').where(which)
  const rows = readTicketRows(store, (eb) => eb('w.ticket_id', 'in', named))
  const together = readTogether(store, which)
  const readings = Map.groupBy(readReadings(store, places, readingsOn(store, asked)), ({ ticketId }) => ticketId)
  return tickets.map(([ticketId, scaleId, weighedAt, grossLb]) => {
    const own = rows.get(ticketId) ?? { unitIds: [], weightsLb: new Map<number, number>() }
    const taken = readings.get(ticketId) ?? []
    return {
      ticketId,
      scaleId,
      grossLb,
      readings: taken,
      weighedAt: fromStoredInstant(weighedAt),
      weightsLb: own.weightsLb,
      together: together.get(ticketId) ?? [],
      lift: liftOf(own, taken, places),
      unitIds: unitsOnTicket(
        own.unitIds,
        taken.map(({ unitIds }) => unitIds),
        places,
      ),
    }
  })
}

/** The ids of a table's rows cut into stretches of about so many rows, from just after `after` on. */
export function idStretches(
  { db, raw }: Store,
  table: 'reading' | 'ticket',
  rows: number,
  after = 0,
): { from: number; to: number }[] {
  const { sql } = db
    .selectFrom(table)
    .select(({ fn }) => fn.max('id').as('last'))
    .compile()
  const [last] = raw.prepare(sql).raw().get() as [number | null]
  const stretches: { from: number; to: number }[] = []
  for (let from = after + 1; from <= (last ?? 0); from += rows) stretches.push({ from, to: from + rows - 1 })
  return stretches
}
