import type { Compilable } from 'kysely'
import { setImmediate } from 'node:timers/promises'
import { type FleetPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { readWeighFacts } from '#core/store/weigh-facts.ts'
import {
  type OnReadings,
  type OnTickets,
  type ReadingOfUnits,
  type TicketOfUnits,
  idStretches,
  readReadings,
  readTickets,
} from '#core/store/weighing-slices.ts'
import { basisOfUnits, readWeighingState, restsOnOthers, rulesText, touchedUnits } from '#core/store/weighing-state.ts'
import { weighReading, weighTicket } from '#core/weight/combination-weights.ts'
import { type Weighing, heavyWeights, unitVerdicts } from '#core/weight/heavy.ts'
import { type WeighFacts, type Weigher, weigher } from '#core/weight/weigher.ts'
import { dayOf } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** Some weighings to be read in one go: readings without a ticket, or tickets with their readings. */
export type WeighingList =
  | { readonly kind: 'reading'; readonly which: OnReadings }
  | { readonly kind: 'ticket'; readonly which: OnTickets }

/** Large enough for the readings of one combination to meet in one list, small enough to be held. */
const inStretch = 20_000
/** SQLite takes some 32,000 values a statement, and a list is asked for in three. */
const inList = 5000

const idsOf = ({ raw }: Store, query: Compilable): number[] => {
  const { sql, parameters } = query.compile()
  return raw
    .prepare(sql)
    .pluck()
    .all(...parameters) as number[]
}

const cut = (ids: readonly number[]): number[][] =>
  Array.from({ length: Math.ceil(ids.length / inList) }, (_, i) => ids.slice(i * inList, (i + 1) * inList))

const listsOf = (readingIds: readonly number[], ticketIds: readonly number[]): WeighingList[] => [
  ...cut(ticketIds).map((ids): WeighingList => ({ kind: 'ticket', which: (eb) => eb('t.id', 'in', ids) })),
  ...cut(readingIds).map((ids): WeighingList => ({ kind: 'reading', which: (eb) => eb('r.id', 'in', ids) })),
]

/** Every weighing of the record. */
export function allWeighings(store: Store): WeighingList[] {
  return [
    ...idStretches(store, 'ticket', inStretch).map(
      ({ from, to }): WeighingList => ({ kind: 'ticket', which: (eb) => eb.between('t.id', from, to) }),
    ),
    ...idStretches(store, 'reading', inStretch).map(
      ({ from, to }): WeighingList => ({
        kind: 'reading',
        which: (eb) => eb.and([eb.between('r.id', from, to), eb('r.ticket_id', 'is', null)]),
      }),
    ),
  ]
}

/** The weighings that some units stood in. */
export function weighingsOfUnits(store: Store, unitIds: readonly number[]): WeighingList[] {
  const { db } = store
  const read = db
    .selectFrom('axle_group as g')
    .innerJoin('circuit as c', 'c.group_id', 'g.id')
    .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .where('g.unit_id', 'in', unitIds)
  const lone = idsOf(store, read.select('r.id').distinct().where('r.ticket_id', 'is', null).orderBy('r.id'))
  const ticketed = idsOf(store, read.select('r.ticket_id').distinct().where('r.ticket_id', 'is not', null))
  const weighed = idsOf(
    store,
    db.selectFrom('ticket_weight').select('ticket_id').distinct().where('unit_id', 'in', unitIds),
  )
  return listsOf(
    lone,
    [...new Set([...ticketed, ...weighed])].sort((a, b) => a - b),
  )
}

/** The weighings that have come since: new tickets, new readings, and older tickets that new readings belong to. */
export function newWeighings(store: Store, lastReadingId: number, lastTicketId: number): WeighingList[] {
  const { db } = store
  const lone = idsOf(
    store,
    db.selectFrom('reading').select('id').where('id', '>', lastReadingId).where('ticket_id', 'is', null).orderBy('id'),
  )
  const tickets = idsOf(store, db.selectFrom('ticket').select('id').where('id', '>', lastTicketId))
  const joined = idsOf(
    store,
    db
      .selectFrom('reading')
      .select('ticket_id')
      .distinct()
      .where('id', '>', lastReadingId)
      .where('ticket_id', 'is not', null),
  )
  return listsOf(
    lone,
    [...new Set([...tickets, ...joined])].sort((a, b) => a - b),
  )
}

/** The number of a weighing: odd for a ticket with its readings, even for a reading without a ticket. */
export const weighingOfTicket = (ticketId: number): number => 2 * ticketId + 1
export const weighingOfReading = (readingId: number): number => 2 * readingId

interface NumberedWeighing extends Weighing {
  readonly weighing: number
  readonly ticketId: number | null
  readonly at: number
}

function weighTicketEvent(fleet: Weigher, ticket: TicketOfUnits): NumberedWeighing {
  const ready = fleet.ready(ticket.unitIds)
  return {
    ready,
    weighing: weighingOfTicket(ticket.ticketId),
    ticketId: ticket.ticketId,
    at: ticket.weighedAt,
    ticket: weighTicket(ready, ticket),
    readings: ticket.readings.map((reading) => ({
      readingId: reading.readingId,
      weights: weighReading(ready, reading),
    })),
  }
}

function weighLoneReading(fleet: Weigher, reading: ReadingOfUnits): NumberedWeighing {
  const ready = fleet.ready(reading.unitIds)
  return {
    ready,
    weighing: weighingOfReading(reading.readingId),
    ticketId: null,
    at: reading.takenAt,
    ticket: null,
    readings: [{ readingId: reading.readingId, weights: weighReading(ready, reading) }],
  }
}

/** Writes weighings in place of what is stored of them. */
function weighingWriter({ db, raw }: Store) {
  const removals = (['heavy', 'weighed_unit'] as const).map((table) =>
    raw.prepare(db.deleteFrom(table).where('weighing', '=', 0).compile().sql),
  )
  const blank = {
    weighing: 0,
    source: 'ticket',
    superseded: 0,
    reading_id: null,
    ticket_id: null,
    weighed_at: '',
    unit_id: 0,
    lead_unit_id: 0,
    limit_kind: 'gross',
    group_id: null,
    first_axle: null,
    last_axle: null,
    length_ft: null,
    more_sets: null,
    weight_lb: 0,
    u_lb: 0,
    limit_lb: 0,
    over_lb: 0,
    p_over: 0,
    verdict: 'over',
  } as const
  const insertHeavy = raw.prepare(db.insertInto('heavy').values(blank).compile().sql)
  const insertUnit = raw.prepare(
    db
      .insertInto('weighed_unit')
      .values({
        weighing: 0,
        unit_id: 0,
        weighed_on: '',
        leads: 0,
        group_verdict: 0,
        gross_verdict: 0,
        bridge_verdict: 0,
      })
      .compile().sql,
  )
  return {
    replace: (one: NumberedWeighing): void => {
      for (const removal of removals) removal.run(one.weighing)
      const at = toStoredInstant(one.at)
      const day = dayOf(one.at, one.ready.plan.rules.zone)
      for (const { unitId, leads, group, gross, bridge } of unitVerdicts(one))
        insertUnit.run(one.weighing, unitId, day, leads ? 1 : 0, group, gross, bridge)
      const lead = one.ready.units[0]?.unitId
      for (const {
        source,
        superseded,
        readingId,
        unitId,
        kind,
        groupId,
        set,
        weightLb,
        uLb,
        limitLb,
        pOver,
        verdict,
      } of heavyWeights(one)) {
        insertHeavy.run(
          one.weighing,
          source,
          superseded ? 1 : 0,
          readingId,
          one.ticketId,
          at,
          unitId,
          lead,
          kind,
          groupId,
          set?.firstAxle ?? null,
          set?.lastAxle ?? null,
          set?.lengthFt ?? null,
          set?.more ?? null,
          weightLb,
          uLb,
          limitLb,
          weightLb - limitLb,
          pOver,
          verdict,
        )
      }
    },
  }
}

/** Readings of one combination one after the other: what they share stays at hand. */
const byCombination = (a: { unitIds: readonly number[] }, b: { unitIds: readonly number[] }): number =>
  (a.unitIds[0] ?? 0) - (b.unitIds[0] ?? 0)

type FleetOf = (unitIds: readonly number[]) => Weigher | Promise<Weigher>

/**
 * Weighs what is listed and stores the outcome, list by list, each in a transaction of its own; the thread is let go
 * between them.
 */
async function weighLists(
  store: Store,
  lists: readonly WeighingList[],
  fleetOf: FleetOf,
  places: FleetPlaces,
): Promise<void> {
  const writer = weighingWriter(store)
  for (const list of lists) {
    const tickets = list.kind === 'ticket' ? readTickets(store, places, list.which).sort(byCombination) : []
    const readings = list.kind === 'reading' ? readReadings(store, places, list.which).sort(byCombination) : []
    const fleet = await fleetOf([...new Set([...tickets, ...readings].flatMap(({ unitIds }) => unitIds))])
    store.raw
      .transaction(() => {
        for (const ticket of tickets) writer.replace(weighTicketEvent(fleet, ticket))
        for (const reading of readings) writer.replace(weighLoneReading(fleet, reading))
      })
      .immediate()
    await setImmediate()
  }
}

interface Extent {
  readonly revision: number
  readonly lastReadingId: number
  readonly lastTicketId: number
}

async function readExtent({ db }: Store): Promise<Extent> {
  const { revision } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  const { last: reading } = await db
    .selectFrom('reading')
    .select(({ fn }) => fn.max('id').as('last'))
    .executeTakeFirstOrThrow()
  const { last: ticket } = await db
    .selectFrom('ticket')
    .select(({ fn }) => fn.max('id').as('last'))
    .executeTakeFirstOrThrow()
  return { revision, lastReadingId: reading ?? 0, lastTicketId: ticket ?? 0 }
}

/** Notes that the stored weights are of this extent; `facts` where all of them rest on these. */
async function noteState(
  { db }: Store,
  { revision, lastReadingId, lastTicketId }: Extent,
  facts?: WeighFacts,
): Promise<void> {
  const extent = { revision, last_reading_id: lastReadingId, last_ticket_id: lastTicketId }
  if (!facts) {
    await db.updateTable('weighing_state').set(extent).execute()
    return
  }
  const {
    noise: { levelingPsi, wanderPsi },
    rules: { steerScatterLb },
  } = facts
  await db
    .insertInto('weighing_state')
    .values({
      id: 1,
      ...extent,
      rules: rulesText(facts),
      leveling_psi: levelingPsi,
      wander_psi: wanderPsi,
      steer_scatter_lb: steerScatterLb,
    })
    .execute()
}

function noteBasis({ db, raw }: Store, basis: ReadonlyMap<number, string>): void {
  const statement = raw.prepare(
    db
      .insertInto('weighed_basis')
      .values({ unit_id: 0, basis: '' })
      .onConflict((conflict) => conflict.column('unit_id').doUpdateSet({ basis: '' }))
      .compile().sql,
  )
  raw
    .transaction(() => {
      for (const [unitId, mark] of basis) statement.run(unitId, mark, mark)
    })
    .immediate()
}

/**
 * Forgets the stored weights, as after tickets or readings were completed in place: the next update makes all of them
 * anew.
 */
export async function forgetWeighings({ db }: Store): Promise<void> {
  await db.transaction().execute(async (trx) => {
    await trx.deleteFrom('weighing_state').execute()
    await trx.deleteFrom('heavy').execute()
    await trx.deleteFrom('weighed_unit').execute()
    await trx.deleteFrom('weighed_basis').execute()
  })
}

async function weighAll(store: Store, facts: WeighFacts, extent: Extent): Promise<void> {
  await forgetWeighings(store)
  const places = readFleetPlaces(store)
  const fleet = weigher(facts)
  await weighLists(store, allWeighings(store), () => fleet, places)
  noteBasis(store, basisOfUnits(facts, places))
  await noteState(store, extent, facts)
}

/**
 * Weighs every reading and ticket of the record and stores what is over a limit or too close to call. Takes seconds for
 * a large fleet, and lets the thread go between stretches; until it is through the stored weights count as not current.
 */
export async function reweighAll(store: Store): Promise<void> {
  const extent = await readExtent(store)
  await weighAll(store, await readWeighFacts(store, { tare: false }), extent)
}

/** A few combinations are read for themselves; for many it is quicker to read the whole fleet once. */
const fewUnits = 500

/** Readies the units of each list, or the whole fleet once a list has many. */
function fleetOnDemand(store: Store): FleetOf {
  let whole: Weigher | undefined
  return async (unitIds) => {
    if (whole) return whole
    if (unitIds.length <= fewUnits) return weigher(await readWeighFacts(store, { unitIds, tare: false }))
    whole = weigher(await readWeighFacts(store, { tare: false }))
    return whole
  }
}

/**
 * Weighs anew what some units stood in, and what has come since, after a change of their record: a calibration made or
 * voided, a ticket, an event, a limit. The caller has counted that one change in the ledger; weights that were behind
 * before it stay so, and `updateWeighings` brings them up.
 */
export async function reweighUnits(store: Store, unitIds: readonly number[]): Promise<void> {
  const state = await readWeighingState(store.db)
  if (!state) return
  const extent = await readExtent(store)
  const places = readFleetPlaces(store)
  const lists = [
    ...weighingsOfUnits(store, unitIds),
    ...newWeighings(store, state.last_reading_id, state.last_ticket_id),
  ]
  await weighLists(store, lists, fleetOnDemand(store), places)
  noteBasis(store, basisOfUnits(await readWeighFacts(store, { unitIds, tare: false }), places))
  if (state.revision >= extent.revision - 1) await noteState(store, extent)
}

/**
 * Weighs what has come since, after a reading or ticket was added. As `reweighUnits` for what the caller has counted.
 */
export async function weighNew(store: Store): Promise<void> {
  const state = await readWeighingState(store.db)
  if (!state) return
  const extent = await readExtent(store)
  await weighLists(
    store,
    newWeighings(store, state.last_reading_id, state.last_ticket_id),
    fleetOnDemand(store),
    readFleetPlaces(store),
  )
  if (state.revision >= extent.revision - 1) await noteState(store, extent)
}

/** Whether the stored weights are those of the record as it is now. */
export async function areWeighingsCurrent({ db }: Store): Promise<boolean> {
  const row = await db
    .selectFrom(['weighing_state as s', 'ledger as l'])
    .select(['s.revision', 'l.revision as now'])
    .executeTakeFirst()
  return row !== undefined && row.revision === row.now
}

/** Above this share of the fleet it is quicker to weigh everything. */
const mostTouched = 0.3

/**
 * Brings the stored weights up to the record: what has come since they were made, and what a changed unit stood in;
 * everything where the rules, a scale or the fleet's figures are others. Tickets and readings changed in place are not
 * seen from here.
 */
export async function updateWeighings(store: Store): Promise<void> {
  const state = await readWeighingState(store.db)
  if (await areWeighingsCurrent(store)) return
  const extent = await readExtent(store)
  const facts = await readWeighFacts(store, { tare: false })
  if (!state || restsOnOthers(state, facts)) {
    await weighAll(store, facts, extent)
    return
  }
  const places = readFleetPlaces(store)
  const basis = basisOfUnits(facts, places)
  const touched = await touchedUnits(store, basis)
  if (touched.length > mostTouched * facts.units.length) {
    await weighAll(store, facts, extent)
    return
  }
  const fleet = weigher(facts)
  const lists = [
    ...(touched.length > 0 ? weighingsOfUnits(store, touched) : []),
    ...newWeighings(store, state.last_reading_id, state.last_ticket_id),
  ]
  await weighLists(store, lists, () => fleet, places)
  noteBasis(store, new Map(touched.map((unitId) => [unitId, basis.get(unitId) as string])))
  await noteState(store, extent)
}
