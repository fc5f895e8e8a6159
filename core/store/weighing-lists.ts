import type { Compilable } from 'kysely'
import type { Store } from '#core/store/open.ts'
import { idStretches, type OnReadings, type OnTickets } from '#core/store/weighing-slices.ts'

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
