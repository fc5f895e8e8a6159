import { type Compilable, type SqlBool, sql } from 'kysely'
import { setImmediate } from 'node:timers/promises'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import { markWholeFleet, revisionNow } from '#core/store/books.ts'
import type { Watch } from '#core/store/watch.ts'
import type { Store } from '#core/store/open.ts'
import { readWeighSource } from '#core/store/weigh-facts.ts'
import type { OnReadings } from '#core/store/reading-units.ts'
import {
  type OnTickets,
  type ReadingOfUnits,
  type TicketOfUnits,
  idStretches,
  readReadings,
  readTickets,
} from '#core/store/weighing-slices.ts'
import { weighingOfReading, weighingOfTicket } from '#core/store/touched.ts'
import { weighReading, weighTicket } from '#core/weight/combination-weights.ts'
import { type VerdictRank, type Weighing, heavyWeights, saidKey, unitVerdicts } from '#core/weight/heavy.ts'
import { type StoredBefore, saidOtherwise } from '#core/weight/said-verdicts.ts'
import type { Schema } from '#core/store/schema.ts'
import { dayOf } from '#core/words/day.ts'
import { type Weigher, weigher } from '#core/weight/weigher.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** Some weighings to be read in one go: readings without a ticket, or tickets with their readings. */
type WeighingList =
  | { readonly kind: 'reading'; readonly which: OnReadings }
  | { readonly kind: 'ticket'; readonly which: OnTickets }

/** A list of weighings that are known by their numbers. */
type NumberedList = WeighingList & { readonly numbers: readonly number[] }

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

const listsOf = (readingIds: readonly number[], ticketIds: readonly number[]): NumberedList[] => [
  ...cut(ticketIds).map(
    (ids): NumberedList => ({
      kind: 'ticket',
      which: (eb) => eb('t.id', 'in', ids),
      numbers: ids.map(weighingOfTicket),
    }),
  ),
  ...cut(readingIds).map(
    (ids): NumberedList => ({
      kind: 'reading',
      which: (eb) => eb('r.id', 'in', ids),
      numbers: ids.map(weighingOfReading),
    }),
  ),
]

/** Every weighing of the record, so many ids at a time. */
function allWeighings(store: Store, rows = inStretch): WeighingList[] {
  return [
    ...idStretches(store, 'ticket', rows).map(
      ({ from, to }): WeighingList => ({ kind: 'ticket', which: (eb) => eb.between('t.id', from, to) }),
    ),
    ...idStretches(store, 'reading', rows).map(
      ({ from, to }): WeighingList => ({
        kind: 'reading',
        which: (eb) => eb.and([eb.between('r.id', from, to), eb('r.ticket_id', 'is', null)]),
      }),
    ),
  ]
}

/** The weighings that some units stood in. */
function weighingsOfUnits(store: Store, unitIds: readonly number[]): NumberedList[] {
  const { db } = store
  const read = db
    .selectFrom('axle_group as g')
    .innerJoin('circuit as c', 'c.group_id', 'g.id')
    .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .where('g.unit_id', 'in', unitIds)
  const lone = idsOf(store, read.select('r.id').distinct().where('r.ticket_id', 'is', null).orderBy('r.id'))
  const stood = idsOf(
    store,
    db
      .selectFrom('reading_unit as s')
      .innerJoin('reading as r', 'r.id', 's.reading_id')
      .select('r.id')
      .distinct()
      .where('s.unit_id', 'in', unitIds)
      .where('r.ticket_id', 'is', null),
  )
  const ticketed = idsOf(store, read.select('r.ticket_id').distinct().where('r.ticket_id', 'is not', null))
  const weighed = idsOf(
    store,
    db.selectFrom('ticket_weight').select('ticket_id').distinct().where('unit_id', 'in', unitIds),
  )
  return listsOf(
    [...new Set([...lone, ...stood])].sort((a, b) => a - b),
    [...new Set([...ticketed, ...weighed])].sort((a, b) => a - b),
  )
}

/** A weighing of the record; at: when, ms UTC. */
export interface NumberedWeighing extends Weighing {
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

/** Looks up what is stored of a weighing: what may have been shown of it, and is about to be made anew. */
function storedBefore({ db, raw }: Pick<Store, 'db' | 'raw'>): (weighing: number) => StoredBefore {
  const units = raw.prepare(
    db
      .selectFrom('weighed_unit')
      .select(['unit_id', 'group_verdict', 'gross_verdict'])
      .where('weighing', '=', 0)
      .compile().sql,
  )
  const weights = raw.prepare(
    db
      .selectFrom('heavy')
      .select(['reading_id', 'limit_kind', 'group_id', 'verdict', 'weight_lb', 'u_lb', 'p_over'])
      .select(['said_verdict', 'said_weight_lb', 'said_u_lb'])
      .where('weighing', '=', 0)
      .compile().sql,
  )
  type UnitRow = { unit_id: number; group_verdict: VerdictRank | null; gross_verdict: VerdictRank | null }
  type WeightRow = Pick<
    Schema['heavy'],
    | 'reading_id'
    | 'limit_kind'
    | 'group_id'
    | 'verdict'
    | 'weight_lb'
    | 'u_lb'
    | 'p_over'
    | 'said_verdict'
    | 'said_weight_lb'
    | 'said_u_lb'
  >
  return (weighing) => {
    const known = new Map((units.all(weighing) as UnitRow[]).map((unit) => [unit.unit_id, unit]))
    const rows = known.size === 0 ? [] : (weights.all(weighing) as WeightRow[])
    return {
      said: new Map(
        rows.map((row) => [
          saidKey(row.reading_id, row.limit_kind, row.group_id),
          row.said_verdict === null
            ? { verdict: row.verdict, weightLb: row.weight_lb, uLb: row.u_lb, pOver: row.p_over }
            : { verdict: row.said_verdict, weightLb: row.said_weight_lb, uLb: row.said_u_lb, pOver: null },
        ]),
      ),
      wasWeighed: (kind, unitId) => (known.get(unitId)?.[`${kind}_verdict`] ?? null) !== null,
    }
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
    line_weight_lb: null,
    line_u_lb: null,
    line_verdict: null,
    provisional: 0,
    said_verdict: null,
    said_weight_lb: null,
    said_u_lb: null,
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
  const before = storedBefore({ db, raw })
  return {
    replace: (one: NumberedWeighing): void => {
      const otherwise = saidOtherwise(one, before(one.weighing))
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
        byLine,
        isProvisional,
        said,
      } of heavyWeights(one, otherwise)) {
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
          byLine?.weightLb ?? null,
          byLine?.uLb ?? null,
          byLine?.verdict ?? null,
          isProvisional ? 1 : 0,
          said?.verdict ?? null,
          said?.weightLb ?? null,
          said?.uLb ?? null,
        )
      }
    },
  }
}

/** Readings of one combination one after the other: what they share stays at hand. */
const byCombination = (a: { unitIds: readonly number[] }, b: { unitIds: readonly number[] }): number =>
  (a.unitIds[0] ?? 0) - (b.unitIds[0] ?? 0)

/** The weighings of a list, each still to be weighed, with the units that stand in any of them. */
function readList(store: Store, places: FleetPlaces, list: WeighingList) {
  const tickets = list.kind === 'ticket' ? readTickets(store, places, list.which).sort(byCombination) : []
  const readings = list.kind === 'reading' ? readReadings(store, places, list.which).sort(byCombination) : []
  return {
    unitIds: [...new Set([...tickets, ...readings].flatMap(({ unitIds }) => unitIds))],
    events: [
      ...tickets.map((ticket) => (fleet: Weigher) => weighTicketEvent(fleet, ticket)),
      ...readings.map((reading) => (fleet: Weigher) => weighLoneReading(fleet, reading)),
    ],
  }
}

type FleetOf = (unitIds: readonly number[]) => Weigher | Promise<Weigher>

/** Weighings stored between two looks at whether anybody else wants to write, or the work is to end. */
const storedAtOnce = 1000

/**
 * Weighs what is listed and stores the outcome, a stretch at a time, each in a transaction of its own that holds no
 * more than the writing; the thread is let go between them.
 */
async function weighLists(
  store: Store,
  lists: readonly WeighingList[],
  fleetOf: FleetOf,
  { places, watch = () => {} }: { readonly places: FleetPlaces; readonly watch?: Watch },
): Promise<void> {
  const writer = weighingWriter(store)
  const replaceAll = store.raw.transaction((weighed: readonly NumberedWeighing[]) => {
    for (const one of weighed) writer.replace(one)
  })
  for (const [at, list] of lists.entries()) {
    const { unitIds, events } = readList(store, places, list)
    const fleet = await fleetOf(unitIds)
    for (let from = 0; from < events.length; from += storedAtOnce) {
      replaceAll.immediate(events.slice(from, from + storedAtOnce).map((weigh) => weigh(fleet)))
      watch((at + from / events.length) / lists.length)
      await setImmediate()
    }
  }
}

const runs = ({ raw }: Store, ...queries: readonly Compilable[]): void => {
  for (const query of queries) {
    const { sql, parameters } = query.compile()
    raw.prepare(sql).run(...parameters)
  }
}

/** Takes away the weights of weighings that are no longer in the record. */
function forgetWeighings(store: Store, gone: readonly number[]): void {
  const { db } = store
  for (let from = 0; from < gone.length; from += inList) {
    const some = gone.slice(from, from + inList)
    runs(
      store,
      db.deleteFrom('heavy').where('weighing', 'in', some),
      db.deleteFrom('weighed_unit').where('weighing', 'in', some),
    )
  }
}

/** Stored weighings that are no longer in the record, of the whole fleet. */
const lostWeighings = (store: Store): number[] =>
  idsOf(
    store,
    store.db
      .selectFrom('weighed_unit as w')
      .select('w.weighing')
      .distinct()
      .where(({ not, exists, selectFrom }) =>
        not(
          exists(
            selectFrom('ticket as t').select('t.id').where(sql<SqlBool>`t.id = w.weighing / 2 and w.weighing % 2 = 1`),
          ),
        ),
      )
      .where(({ not, exists, selectFrom }) =>
        not(
          exists(
            selectFrom('reading as r')
              .select('r.id')
              .where('r.ticket_id', 'is', null)
              .where(sql<SqlBool>`r.id = w.weighing / 2 and w.weighing % 2 = 0`),
          ),
        ),
      ),
  )

/** Takes off marks that were set at a revision or before, and rows that mark nothing any more. */
function clearWeighMarks(
  store: Store,
  revision: number,
  { unitIds, after }: { readonly unitIds?: readonly number[]; readonly after: number },
): void {
  const { db } = store
  const marked = db.updateTable('behind_unit').set({ weigh_since: null }).where('weigh_since', '<=', revision)
  runs(
    store,
    unitIds ? marked.where('unit_id', 'in', unitIds) : marked,
    db.deleteFrom('behind_weighing').where('since', '<=', revision).where('since', '>', after),
    db.deleteFrom('behind_unit').where('judge_since', 'is', null).where('weigh_since', 'is', null),
    db.updateTable('books').set({ weighed_revision: revision }),
  )
}

/** Has units weighed once more. */
function markToWeigh(store: Store, unitIds: readonly number[]): void {
  const since = revisionNow(store)
  for (const unit_id of unitIds)
    runs(
      store,
      store.db
        .insertInto('behind_unit')
        .values({ unit_id, judge_since: null, weigh_since: since })
        .onConflict((conflict) => conflict.column('unit_id').doUpdateSet({ weigh_since: since })),
    )
}

/**
 * Weighs every reading and ticket of the record and stores what is over a limit or too close to call. What changed
 * meanwhile stays marked as behind. Takes seconds for a large fleet, and lets the thread go between stretches.
 */
export async function weighWholeFleet(store: Store, watch?: Watch): Promise<void> {
  const { db, raw } = store
  const revision = markWholeFleet(store, 'weigh')
  const places = readFleetPlaces(store)
  const fleet = weigher(await readWeighSource(store, { tare: false, places }))
  await weighLists(store, allWeighings(store), () => fleet, { places, ...(watch ? { watch } : {}) })
  raw
    .transaction(() => {
      forgetWeighings(store, lostWeighings(store))
      runs(store, db.deleteFrom('behind_fleet').where('what', '=', 'weigh').where('since', '<=', revision))
      clearWeighMarks(store, revision, { after: -1 })
    })
    .immediate()
}

/**
 * Weighs every reading and ticket of the record as it is done for what is stored, and hands on what `make` makes of each,
 * by rising number: of so many ids at a time, tickets first. Only what is made is held; nothing is stored.
 */
export async function* eachWeighing<T>(
  store: Store,
  make: (weighing: NumberedWeighing) => T,
  ids: number,
): AsyncGenerator<readonly T[]> {
  const places = readFleetPlaces(store)
  const fleet = weigher(await readWeighSource(store, { tare: false, places }))
  for (const list of allWeighings(store, ids)) {
    const made = readList(store, places, list).events.map((weigh) => {
      const weighing = weigh(fleet)
      return { number: weighing.weighing, of: make(weighing) }
    })
    yield made.sort((a, b) => a.number - b.number).map(({ of }) => of)
    await setImmediate()
  }
}

/** A few combinations are read for themselves; for many it is quicker to read the whole fleet once. */
const fewUnits = 500

/** Readies the units of each list, or the whole fleet once a list has many. */
function fleetOnDemand(store: Store, places: FleetPlaces): FleetOf {
  let whole: Weigher | undefined
  return async (unitIds) => {
    if (whole) return whole
    const wanted = { tare: false, places, asLearnt: true }
    if (unitIds.length <= fewUnits) return weigher(await readWeighSource(store, { ...wanted, unitIds }))
    whole = weigher(await readWeighSource(store, wanted))
    return whole
  }
}

const numbersOf = (lists: readonly NumberedList[]): Set<number> => new Set(lists.flatMap(({ numbers }) => numbers))

/**
 * Weighs anew what the units stood in that are behind since after a revision, and the single weighings that are; takes
 * away what is no longer in the record. Their marks stay while the whole fleet is to be weighed anyway.
 */
export async function weighBehind(store: Store, after = -1): Promise<void> {
  const { db, raw } = store
  const revision = revisionNow(store)
  const units = idsOf(store, db.selectFrom('behind_unit').select('unit_id').where('weigh_since', '>', after))
  const single = idsOf(store, db.selectFrom('behind_weighing').select('weighing').where('since', '>', after))
  const present = units.length > 0 ? weighingsOfUnits(store, units) : []
  const stored =
    units.length > 0
      ? idsOf(store, db.selectFrom('weighed_unit').select('weighing').distinct().where('unit_id', 'in', units))
      : []
  const known = numbersOf(present)
  const alone = single.filter((weighing) => weighing % 2 === 0 && !known.has(weighing)).map((weighing) => weighing / 2)
  const places = units.length > fewUnits ? readFleetPlaces(store) : lookUpPlaces(store)
  await weighLists(store, [...present, ...listsOf(alone, [])], fleetOnDemand(store, places), { places })
  const whole = db.selectFrom('behind_fleet').select('what').where('what', '<>', 'judge')
  const changedSince = db.selectFrom('ledger').select('revision').where('weights_revision', '>', revision)
  raw
    .transaction(() => {
      forgetWeighings(
        store,
        stored.filter((weighing) => !known.has(weighing)),
      )
      // What changed while this was weighed may have been weighed by somebody else before this was written over it.
      if (idsOf(store, changedSince).length > 0) markToWeigh(store, units)
      else if (idsOf(store, whole).length === 0) clearWeighMarks(store, revision, { unitIds: units, after })
    })
    .immediate()
}
