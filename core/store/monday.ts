import { type ExpressionBuilder, sql } from 'kysely'
import { tallies } from '#core/store/heavy-summary.ts'
import type { Reader } from '#core/store/open.ts'
import type { Schema } from '#core/store/schema.ts'
import { limitKinds } from '#core/weight/heavy.ts'
import { type LocalDay, endOfDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** Days of the fleet's zone, both included. */
export interface DaySpan {
  readonly from: LocalDay
  readonly to: LocalDay
}

/** The number of a weighing is that of its ticket or its reading, see `touched.ts`. */
const ticketOf = sql<number>`case when w.weighing % 2 = 1 then (w.weighing - 1) / 2 end`
const readingOf = sql<number>`case when w.weighing % 2 = 0 then w.weighing / 2 end`

type WithTicket = Schema & { t: Schema['ticket'] }
const onItsReadings = (eb: ExpressionBuilder<WithTicket, 't'>, column: 'driver' | 'lane') =>
  eb
    .selectFrom('reading as tr')
    .select(({ fn }) => fn.max(`tr.${column}`).as(column))
    .whereRef('tr.ticket_id', '=', 't.id')

/**
 * Units of weighings, their yards and who drove, where anything was weighed. The driver is the ticket's, or else one of
 * its readings'; null where nobody is named.
 */
const drivenUnits = (db: Reader) =>
  db
    .selectFrom('weighed_unit as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .leftJoin('ticket as t', (join) => join.on('t.id', '=', ticketOf))
    .leftJoin('reading as r', (join) => join.on('r.id', '=', readingOf))
    .select((eb) => [
      'u.number as unit',
      'y.name as yard',
      eb.fn.coalesce('t.driver', 'r.driver', onItsReadings(eb as never, 'driver')).as('drivenBy'),
    ])
    .where((eb) =>
      eb.or([
        eb('w.group_verdict', 'is not', null),
        eb('w.gross_verdict', 'is not', null),
        eb('w.bridge_verdict', 'is not', null),
      ]),
    )

/** Weighings of some days by the unit at the head, who drove and where it was loaded: each weighing once. */
export function tallyByHead(db: Reader, { from, to }: DaySpan) {
  return drivenUnits(db)
    .select((eb) => tallies(limitKinds)(eb as never))
    .select((eb) => eb.fn.coalesce('t.lane', 'r.lane', onItsReadings(eb as never, 'lane')).as('loadedAt'))
    .where('w.leads', '=', 1)
    .where('w.weighed_on', '>=', from)
    .where('w.weighed_on', '<=', to)
    .groupBy(['w.unit_id', 'drivenBy', 'loadedAt'])
    .execute()
}

/** The units of weighings that are numbered from one number to another, both included, with what was said of each. */
export const listWeighedUnits = (db: Reader, from: number, to: number) =>
  drivenUnits(db)
    .select(['w.weighing', 'w.weighed_on', 'w.leads', 'w.group_verdict', 'w.gross_verdict', 'w.bridge_verdict'])
    .where('w.weighing', '>=', from)
    .where('w.weighing', '<=', to)
    .orderBy('w.weighing')
    .orderBy('w.leads', 'desc')
    .orderBy('w.unit_id')
    .execute()
export type WeighedUnit = Awaited<ReturnType<typeof listWeighedUnits>>[number]
export type HeadTally = Awaited<ReturnType<typeof tallyByHead>>[number]

/**
 * What the weights over a limit of some days rest on, by the unit at the head: the scale of a ticket, or the line that
 * an onboard weight was read from; line null: several lines of a combination, as of a gross.
 */
export function listGrounds(db: Reader, { from, to }: DaySpan, zone: string) {
  return db
    .selectFrom('heavy as h')
    .innerJoin('unit as l', 'l.id', 'h.lead_unit_id')
    .innerJoin('unit as u', 'u.id', 'h.unit_id')
    .leftJoin('axle_group as g', 'g.id', 'h.group_id')
    .leftJoin('group_standing as k', 'k.group_id', 'h.group_id')
    .leftJoin('ticket as t', (join) => join.onRef('t.id', '=', 'h.ticket_id').on('h.source', '=', 'ticket'))
    .leftJoin('scale as s', 's.id', 't.scale_id')
    .select(({ fn }) => [
      'l.number as lead',
      'h.source',
      's.name as scale',
      'u.number as unit',
      'g.name as group',
      'k.trust',
      'k.calibrated_at',
      fn.countAll<number>().as('weights'),
    ])
    .where('h.superseded', '=', 0)
    .where('h.verdict', '=', 'over')
    .where('h.weighed_at', '>=', toStoredInstant(startOfDay(from, zone)))
    .where('h.weighed_at', '<=', toStoredInstant(endOfDay(to, zone)))
    .groupBy(['h.lead_unit_id', 'h.source', 's.id', 'h.unit_id', 'h.group_id'])
    .orderBy('weights', 'desc')
    .execute()
}
export type Ground = Awaited<ReturnType<typeof listGrounds>>[number]
