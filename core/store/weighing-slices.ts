import type { Expression, ExpressionBuilder, SqlBool } from 'kysely'
import { type FleetPlaces, inCouplingOrder } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import type { CertifiedTicket } from '#core/weight/combination-weights.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
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

export type OnReadings = (eb: ExpressionBuilder<Schema & { r: Schema['reading'] }, 'r'>) => Expression<SqlBool>
export type OnTickets = (eb: ExpressionBuilder<Schema & { t: Schema['ticket'] }, 't'>) => Expression<SqlBool>

interface TicketRows {
  readonly unitIds: number[]
  readonly weightsLb: Map<number, number>
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

/** A reading while its rows come in: pressures by group, and the units they belong to. */
interface ReadingDraft {
  readonly readingId: number
  readonly unitIds: number[]
  readonly pressures: Map<number, (number | null)[]>
}

/** Adds pressures to their readings; both in the order of the readings' ids. */
function addPressures(
  drafts: readonly ReadingDraft[],
  rows: Iterable<[readingId: number, circuitId: number, psi: number]>,
  places: FleetPlaces,
): void {
  let next = 0
  for (const [readingId, circuitId, psi] of rows) {
    while (next < drafts.length && (drafts[next] as ReadingDraft).readingId < readingId) next += 1
    const draft = drafts[next]
    const place = places.circuits.get(circuitId)
    // A reading or circuit that came between two statements waits for the next look.
    if (draft?.readingId !== readingId || place === undefined) continue
    const { pressures, unitIds } = draft
    let group = pressures.get(place.groupId)
    if (group === undefined) {
      group = new Array<number | null>(place.circuits).fill(null)
      pressures.set(place.groupId, group)
      if (!unitIds.includes(place.unitId)) unitIds.push(place.unitId)
    }
    group[place.circuit] = psi
  }
}

/**
 * The readings that a condition names, by rising id, in three statements. Where the elevation was not noted it is that
 * of the ticket's scale, or of the yard of the unit at the head.
 */
export function readReadings(store: Store, places: FleetPlaces, which: OnReadings): ReadingOfUnits[] {
  const { db, raw } = store
  type Row = [number, string, string, number | null, LiftState | null, number | null, number | null]
  const rows = [
    ...walk<Row>(
      raw,
      db
        .selectFrom('reading as r')
        .leftJoin('ticket as t', 't.id', 'r.ticket_id')
        .select(['r.id', 'r.name', 'r.taken_at', 'r.elevation_ft', 'r.lift', 'r.ticket_id', 't.scale_id'])
        .where(which)
        .orderBy('r.id'),
    ),
  ]
  const tickets = gatherTickets(
    walk(
      raw,
      db
        .selectFrom('ticket_weight as w')
        .select(['w.ticket_id', 'w.unit_id', 'w.group_id', 'w.weight_lb'])
        .where(
          'w.ticket_id',
          'in',
          db.selectFrom('reading as r').select('r.ticket_id').where('r.ticket_id', 'is not', null).where(which),
        )
        .orderBy('w.ticket_id')
        .orderBy('w.id'),
    ),
  )
  const drafts = rows.map(
    ([readingId, , , , , ticketId]): ReadingDraft => ({
      readingId,
      unitIds: [...(tickets.get(ticketId ?? 0)?.unitIds ?? [])],
      pressures: new Map(),
    }),
  )
  addPressures(
    drafts,
    walk(
      raw,
      db
        .selectFrom('reading as r')
        .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
        .select(['p.reading_id', 'p.circuit_id', 'p.psi'])
        .where(which)
        .orderBy('r.id')
        .orderBy('p.circuit_id'),
    ),
    places,
  )
  return rows.map(([readingId, name, takenAt, elevationFt, lift, ticketId, scaleId], i) => {
    const { unitIds: units, pressures } = drafts[i] as ReadingDraft
    const ticket = ticketId === null ? undefined : tickets.get(ticketId)
    const unitIds = inCouplingOrder(units, places)
    return {
      readingId,
      name,
      ticketId,
      unitIds,
      lift,
      pressures,
      takenAt: fromStoredInstant(takenAt),
      elevationFt:
        elevationFt ??
        (scaleId === null ? null : places.scaleFt.get(scaleId)) ??
        places.units.get(unitIds[0] as number)?.yardFt ??
        null,
      ticket: ticket === undefined || scaleId === null ? null : { scaleId, weightsLb: ticket.weightsLb },
    }
  })
}

/** The lift state that a ticket was weighed in: as its readings note it, or as the weight of a lift axle tells. */
function liftOf(
  { weightsLb }: TicketRows,
  readings: readonly ReadingOfUnits[],
  { liftGroups }: FleetPlaces,
): LiftState | null {
  const noted = readings.find(({ lift }) => lift !== null)?.lift
  if (noted !== undefined) return noted
  const onLift = [...weightsLb].find(([groupId]) => liftGroups.has(groupId))
  return onLift === undefined ? null : onLift[1] > 0 ? 'lowered' : 'raised'
}

/** The tickets that a condition names, by rising id, each with its readings. */
export function readTickets(store: Store, places: FleetPlaces, which: OnTickets): TicketOfUnits[] {
  const { db, raw } = store
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
  const rows = gatherTickets(
    walk(
      raw,
      db
        .selectFrom('ticket_weight as w')
        .select(['w.ticket_id', 'w.unit_id', 'w.group_id', 'w.weight_lb'])
        .where('w.ticket_id', 'in', named)
        .orderBy('w.ticket_id')
        .orderBy('w.id'),
    ),
  )
  const readings = Map.groupBy(
    readReadings(store, places, (eb) => eb('r.ticket_id', 'in', named)),
    ({ ticketId }) => ticketId,
  )
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
      lift: liftOf(own, taken, places),
      unitIds: inCouplingOrder([...new Set([...own.unitIds, ...taken.flatMap(({ unitIds }) => unitIds)])], places),
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
