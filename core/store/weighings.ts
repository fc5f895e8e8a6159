import { type Compilable, type SqlBool, sql } from 'kysely'
import { setImmediate } from 'node:timers/promises'
import { deserialize, serialize } from 'node:v8'
import { type FleetPlaces, lookUpPlaces, readFleetPlaces } from '#core/store/fleet-places.ts'
import { areBookedFor, isStillTaught, markWholeFleet, revisionNow } from '#core/store/books.ts'
import { isAnyLoadAhead } from '#core/store/dated.ts'
import type { Watch } from '#core/store/watch.ts'
import type { Store } from '#core/store/open.ts'
import { among } from '#core/store/rows.ts'
import { openSpool } from '#core/store/spool.ts'
import { type FiguresToWeigh, readFiguresToWeigh, readWeighSource } from '#core/store/weigh-facts.ts'
import { type Stood, batchesOf } from '#core/store/weighing-batches.ts'
import type { OnReadings } from '#core/store/reading-units.ts'
import {
  type OnTickets,
  type ReadingOfUnits,
  type TicketOfUnits,
  idStretches,
  readReadings,
  readTickets,
  unitsInReadings,
  unitsInTickets,
} from '#core/store/weighing-slices.ts'
import { weighingOfReading, weighingOfTicket } from '#core/store/touched.ts'
import { weighReading, weighTicket } from '#core/weight/combination-weights.ts'
import { type VerdictRank, type Weighing, heavyWeights, saidKey, unitVerdicts } from '#core/weight/heavy.ts'
import { type StoredBefore, saidOtherwise } from '#core/weight/said-verdicts.ts'
import type { Schema } from '#core/store/schema.ts'
import { dayOf } from '#core/words/day.ts'
import { type Weigher, weigher } from '#core/weight/weigher.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** Ids looked up in one go. */
const inStretch = 20_000
/**
 * Weighings read, weighed and stored between two looks at whether anybody else wants to write, or the work is to end.
 */
const weighedAtOnce = 1000
/** Rows taken away in one go. */
const inList = 5000

const idsOf = ({ raw }: Store, query: Compilable): number[] => {
  const { sql, parameters } = query.compile()
  return raw
    .prepare(sql)
    .pluck()
    .all(...parameters) as number[]
}

const isTicket = (weighing: number): boolean => weighing % 2 === 1
const idOf = (weighing: number): number => Math.floor(weighing / 2)

/** Weighings by their numbers: the tickets among them, and the readings without one. */
const listsOf = (weighings: readonly number[]): [tickets: OnTickets, readings: OnReadings] => {
  const ticketIds = weighings.filter(isTicket).map(idOf)
  const readingIds = weighings.filter((weighing) => !isTicket(weighing)).map(idOf)
  return [(eb) => eb('t.id', 'in', among(ticketIds)), (eb) => eb('r.id', 'in', among(readingIds))]
}

/**
 * Weighings that count at a moment (ms UTC), or those that are dated after it; a ticket and its readings are one, dated
 * by the ticket. What counts is weighed by the evidence up to the moment, what is dated ahead by all that is on record.
 */
interface Side {
  readonly asOf: number
  readonly isAhead: boolean
}

/** The last moment of the evidence that a side is weighed by; undefined: all of it. */
const boundOf = ({ asOf, isAhead }: Side): number | undefined => (isAhead ? undefined : asOf)

/** The units of weighings of a side: first of tickets, then of readings. */
function* unitsInWeighings(
  store: Store,
  places: FleetPlaces,
  side: Side,
  tickets: readonly OnTickets[],
  readings: readonly OnReadings[],
): Generator<Stood> {
  const moment = toStoredInstant(side.asOf)
  const compares = side.isAhead ? '>' : '<='
  // They are found by their ids, never by their times: nearly all of them count.
  const weighedAt = sql<string>`+t.weighed_at`
  const takenAt = sql<string>`+r.taken_at`
  for (const some of tickets) {
    const which: OnTickets = (eb) => eb.and([some(eb), eb(weighedAt, compares, moment)])
    const own = { which, untilMs: boundOf(side) }
    for (const [id, unitIds] of unitsInTickets(store, places, own)) yield [weighingOfTicket(id), unitIds]
  }
  for (const some of readings) {
    const which: OnReadings = (eb) => eb.and([some(eb), eb(takenAt, compares, moment)])
    for (const [id, unitIds] of unitsInReadings(store, places, which)) yield [weighingOfReading(id), unitIds]
  }
}

/** The weighings of one side with their units. */
type Stand = (side: Side) => Iterable<Stood>

/** Every weighing of the record. */
const everyWeighing =
  (store: Store, places: FleetPlaces): Stand =>
  (side) =>
    unitsInWeighings(
      store,
      places,
      side,
      idStretches(store, 'ticket', inStretch).map(
        ({ from, to }): OnTickets =>
          (eb) =>
            eb.between('t.id', from, to),
      ),
      idStretches(store, 'reading', inStretch).map(
        ({ from, to }): OnReadings =>
          (eb) =>
            eb.and([eb.between('r.id', from, to), eb('r.ticket_id', 'is', null)]),
      ),
    )

/** Some weighings, by their numbers. */
function someWeighings(store: Store, places: FleetPlaces, weighings: readonly number[]): Stand {
  const [tickets, readings] = listsOf(weighings)
  return (side) => unitsInWeighings(store, places, side, [tickets], [readings])
}

/** The numbers of the weighings that some units stood in. */
function weighingsOfUnits(store: Store, unitIds: readonly number[]): number[] {
  const { db } = store
  const read = db
    .selectFrom('axle_group as g')
    .innerJoin('circuit as c', 'c.group_id', 'g.id')
    .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .where('g.unit_id', 'in', unitIds)
  const lone = idsOf(store, read.select('r.id').distinct().where('r.ticket_id', 'is', null))
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
  return [
    ...new Set([...ticketed, ...weighed].map(weighingOfTicket)),
    ...new Set([...lone, ...stood].map(weighingOfReading)),
  ]
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

/** Everything that weighing goes by but the record itself. */
interface Given {
  readonly places: FleetPlaces
  readonly figures: FiguresToWeigh
  /** Up to when evidence counts, ms UTC. */
  readonly asOf: number
}

/** Weighs what counts, and then what is dated ahead; as `weighSide`. */
async function* weighStretches(store: Store, stand: Stand, given: Given): ReturnType<typeof weighSide> {
  const { asOf } = given
  const sides = (await isAnyLoadAhead(store.db, asOf)) ? [false, true] : [false]
  for (const isAhead of sides) yield* weighSide(store, stand({ asOf, isAhead }), { asOf, isAhead }, given)
}

/**
 * Weighs what is listed, some units after the other, so that little of a large fleet is held at once; hands on a
 * stretch at a time, and how much of all it was then, 0 to 1. The thread is let go between them.
 */
async function* weighSide(
  store: Store,
  weighings: Iterable<Stood>,
  side: Side,
  { places, figures }: Given,
): AsyncGenerator<readonly [weighed: readonly NumberedWeighing[], share: number]> {
  const batches = batchesOf(weighings)
  const all = batches.reduce((sum, batch) => sum + batch.weighings.length, 0)
  let done = 0
  for (const batch of batches) {
    const { unitIds } = batch
    const untilMs = boundOf(side)
    const fleet = weigher(await readWeighSource(store, { unitIds, tare: false, asOf: untilMs, places, figures }))
    for (let from = 0; from < batch.weighings.length; from += weighedAtOnce) {
      if (done > 0) await setImmediate()
      const some = batch.weighings.slice(from, from + weighedAtOnce)
      const [tickets, readings] = listsOf(some.map(([weighing]) => weighing))
      done += some.length
      yield [
        [
          ...readTickets(store, places, { which: tickets, untilMs }).map((ticket) => weighTicketEvent(fleet, ticket)),
          ...readReadings(store, places, readings).map((reading) => weighLoneReading(fleet, reading)),
        ],
        done / all,
      ]
    }
  }
}

/** Weighs what is listed and stores the outcome, each stretch in a transaction that holds no more than the writing. */
async function weighAndStore(
  store: Store,
  weighings: Stand,
  { watch = () => {}, ...given }: Given & { readonly watch?: Watch | undefined },
): Promise<void> {
  const writer = weighingWriter(store)
  const replaceAll = store.raw.transaction((weighed: readonly NumberedWeighing[]) => {
    for (const one of weighed) writer.replace(one)
  })
  for await (const [weighed, share] of weighStretches(store, weighings, given)) {
    replaceAll.immediate(weighed)
    watch(share)
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

/** Has units, and single weighings, weighed once more. */
function markToWeigh(store: Store, unitIds: readonly number[], single: readonly number[]): void {
  const since = revisionNow(store)
  for (const weighing of single)
    runs(
      store,
      store.db
        .insertInto('behind_weighing')
        .values({ weighing, since })
        .onConflict((conflict) => conflict.column('weighing').doUpdateSet({ since })),
    )
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
 * Weighs every reading and ticket of the record by the evidence up to a moment (the end of a day, ms UTC) and stores
 * what is over a limit or too close to call. What changed meanwhile stays marked as behind. Takes seconds for a large
 * fleet, and lets the thread go between stretches.
 */
export async function weighWholeFleet(store: Store, asOf: number, watch?: Watch): Promise<void> {
  const { db, raw } = store
  const revision = markWholeFleet(store, 'weigh')
  const places = readFleetPlaces(store)
  // By what the fleet taught last, which judgements go by too: what it teaches since is told by its own mark.
  const figures = await readFiguresToWeigh(store, { asLearnt: true })
  await weighAndStore(store, everyWeighing(store, places), { places, figures, asOf, watch })
  raw
    .transaction(() => {
      forgetWeighings(store, lostWeighings(store))
      if (isStillTaught(store, weighedBy(figures)))
        runs(store, db.deleteFrom('behind_fleet').where('what', '=', 'weigh').where('since', '<=', revision))
      else markWholeFleet(store, 'weigh')
      clearWeighMarks(store, revision, { after: -1 })
      runs(store, db.updateTable('books').set({ weighed_for: toStoredInstant(asOf) }))
    })
    .immediate()
}

/**
 * Weighs every reading and ticket of the record as it is done for what is stored of a moment (asOf, ms UTC), and hands
 * on what `make` makes of each, by rising number: of so many ids at a time, tickets first. What is made must be plain
 * data; it lies on the disk until all is weighed. Nothing is stored.
 */
export async function* eachWeighing<T>(
  store: Store,
  make: (weighing: NumberedWeighing) => T,
  { asOf, ids }: { readonly asOf: number; readonly ids: number },
): AsyncGenerator<readonly T[]> {
  const places = readFleetPlaces(store)
  const figures = await readFiguresToWeigh(store)
  const afterTickets = idStretches(store, 'ticket', ids).at(-1)?.to ?? 0
  const placeOf = (weighing: number) => idOf(weighing) + (isTicket(weighing) ? 0 : afterTickets)
  const spool = openSpool(store, ids)
  try {
    for await (const [weighed] of weighStretches(store, everyWeighing(store, places), { places, figures, asOf }))
      spool.keep(weighed.map((one) => [placeOf(one.weighing), serialize(make(one))]))
    for (const made of spool.inOrder()) yield made.map((each) => deserialize(each) as T)
  } finally {
    spool.remove()
  }
}

/** What of the figures weights rest on. */
const weighedBy = ({ estimates, steerScatterLb }: FiguresToWeigh): FiguresToWeigh => ({ estimates, steerScatterLb })

/** Where a few units stand is looked up; for many it is quicker to read the whole fleet once. */
const fewUnits = 500

/**
 * Weighs anew, as of the moment that the weights are of (`turnDay`, ms UTC), what the units stood in that are behind
 * since after a revision, and the single weighings that are; takes away what is no longer in the record. Their marks
 * stay while the whole fleet is to be weighed anyway.
 */
export async function weighBehind(store: Store, asOf: number, after = -1): Promise<void> {
  const { db, raw } = store
  const revision = revisionNow(store)
  const units = idsOf(store, db.selectFrom('behind_unit').select('unit_id').where('weigh_since', '>', after))
  const single = idsOf(store, db.selectFrom('behind_weighing').select('weighing').where('since', '>', after))
  const present = units.length > 0 ? weighingsOfUnits(store, units) : []
  const stored =
    units.length > 0
      ? idsOf(store, db.selectFrom('weighed_unit').select('weighing').distinct().where('unit_id', 'in', units))
      : []
  const known = new Set(present)
  const alone = single.filter((weighing) => !isTicket(weighing) && !known.has(weighing))
  const places = units.length > fewUnits ? readFleetPlaces(store) : lookUpPlaces(store)
  const figures = await readFiguresToWeigh(store, { asLearnt: true })
  await weighAndStore(store, someWeighings(store, places, [...present, ...alone]), { places, figures, asOf })
  const whole = db.selectFrom('behind_fleet').select('what').where('what', '<>', 'judge')
  const changedSince = db.selectFrom('ledger').select('revision').where('weights_revision', '>', revision)
  raw
    .transaction(() => {
      forgetWeighings(
        store,
        stored.filter((weighing) => !known.has(weighing)),
      )
      // What changed while this was weighed may have been weighed by somebody else before this was written over it.
      const isOfNow =
        idsOf(store, changedSince).length === 0 &&
        areBookedFor(store, 'weighed_for', asOf) &&
        isStillTaught(store, weighedBy(figures))
      if (!isOfNow) markToWeigh(store, units, alone)
      else if (idsOf(store, whole).length === 0) clearWeighMarks(store, revision, { unitIds: units, after })
    })
    .immediate()
}
