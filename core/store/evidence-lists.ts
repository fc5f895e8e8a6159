import { pairName } from '#core/evidence/one-platform.ts'
import { type SqlBool, sql } from 'kysely'
import type { Reader } from '#core/store/open.ts'
import { scaleTickets, placedCircuits, placedCalibrations } from '#core/store/placed.ts'
import { containsWord, fewWith, holdsWord, wordsOf } from '#core/store/rows.ts'

/** Which rows of a list, newest first: those after a row of the page before. at: stored instant. */
export interface PageAsked {
  readonly text?: string | undefined
  readonly unitId?: number | undefined
  readonly after?: { readonly at: string; readonly id: number } | undefined
  readonly limit: number
}

/** Whether a row of a list, newest first, comes after that one. */
const isAfter = (time: string, id: string, after: { readonly at: string; readonly id: number }) =>
  sql<SqlBool>`(${sql.ref(time)}, ${sql.ref(id)}) < (${after.at}, ${after.id})`

/** Tickets with a text in their number or in the name of their scale. */
async function fewTickets(db: Reader, text: string): Promise<number[] | undefined> {
  const scales = await db.selectFrom('scale').select(['id', 'name']).execute()
  return await fewWith(text, (words, limit) => {
    let query = db.selectFrom('ticket as t').select('t.id').limit(limit)
    for (const word of words) {
      const named = scales.filter(({ name }) => holdsWord(name, word)).map(({ id }) => id)
      query = query.where(({ or, eb }) =>
        or([containsWord(sql<string>`t.number`, word), ...(named.length > 0 ? [eb('t.scale_id', 'in', named)] : [])]),
      )
    }
    return query.execute()
  })
}

const fewReadings = (db: Reader, text: string): Promise<number[] | undefined> =>
  fewWith(text, (words, limit) => {
    let query = db.selectFrom('reading as r').select('r.id').limit(limit)
    for (const word of words) query = query.where(containsWord(sql<string>`r.name`, word))
    return query.execute()
  })

/**
 * Tickets with how many readings, calibrations and attachments go with each; `text` is looked for in number and scale.
 */
export async function listTickets(db: Reader, { text = '', unitId, after, limit }: PageAsked) {
  const few = unitId === undefined ? await fewTickets(db, text) : undefined
  let query = scaleTickets(db).select((eb) => [
    't.id',
    't.number',
    's.name as scale',
    't.weighed_at',
    't.gross_lb',
    eb
      .selectFrom('reading as r')
      .select(({ fn }) => fn.countAll<number>().as('n'))
      .whereRef('r.ticket_id', '=', 't.id')
      .as('readings'),
    eb
      .selectFrom('calibration_point as p')
      .innerJoin('calibration as k', 'k.id', 'p.calibration_id')
      .select(({ fn }) => fn.count<number>('k.id').distinct().as('n'))
      .whereRef('p.ticket_id', '=', 't.id')
      .where('k.voided_at', 'is', null)
      .as('lines'),
    eb
      .selectFrom('ticket_attachment as a')
      .select(({ fn }) => fn.countAll<number>().as('n'))
      .whereRef('a.ticket_id', '=', 't.id')
      .as('attachments'),
  ])
  if (few) query = query.where('t.id', 'in', few)
  else for (const word of wordsOf(text)) query = query.where(containsWord(sql<string>`t.number || ' ' || s.name`, word))
  if (unitId !== undefined)
    query = query.where('t.id', 'in', (eb) =>
      eb.selectFrom('ticket_weight').select('ticket_id').where('unit_id', '=', unitId),
    )
  if (after) query = query.where(isAfter('t.weighed_at', 't.id', after))
  return await query.orderBy('t.weighed_at', 'desc').orderBy('t.id', 'desc').limit(limit).execute()
}

/** The units and weights of tickets. */
export function listWeightsOf(db: Reader, ticketIds: readonly number[]) {
  return db
    .selectFrom('ticket_weight as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .leftJoin('axle_group as g', 'g.id', 'w.group_id')
    .select(['w.ticket_id', 'u.number as unit', 'g.name as group', 'w.weight_lb'])
    .where('w.ticket_id', 'in', ticketIds)
    .orderBy('w.id')
    .execute()
}

/** The weights of two groups on one platform, by the name of both. */
export async function listTogetherOf(db: Reader, ticketIds: readonly number[]) {
  const rows = await db
    .selectFrom('ticket_together as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .innerJoin('axle_group as g', 'g.id', 'w.first_group_id')
    .innerJoin('axle_group as h', 'h.id', 'w.second_group_id')
    .select(['w.ticket_id', 'u.number as unit', 'g.name as one', 'h.name as other', 'w.weight_lb'])
    .where('w.ticket_id', 'in', ticketIds)
    .orderBy('w.id')
    .execute()
  return rows.map(({ one, other, ...row }) => ({ ...row, group: pairName(one, other) }))
}

/** Readings, those of tickets among them; `text` is looked for in the reading's name. */
export async function listReadings(db: Reader, { text = '', unitId, after, limit }: PageAsked) {
  const few = unitId === undefined ? await fewReadings(db, text) : undefined
  let query = db
    .selectFrom('reading as r')
    .leftJoin('ticket as t', 't.id', 'r.ticket_id')
    .select(['r.id', 'r.name', 'r.taken_at', 'r.lift', 'r.ticket_id', 't.number as ticket'])
  if (few) query = query.where('r.id', 'in', few)
  else for (const word of wordsOf(text)) query = query.where(containsWord(sql<string>`r.name`, word))
  if (unitId !== undefined) {
    query = query.where('r.id', 'in', (eb) =>
      eb
        .selectFrom('reading_pressure as p')
        .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
        .innerJoin('axle_group as g', 'g.id', 'c.group_id')
        .select('p.reading_id')
        .where('g.unit_id', '=', unitId)
        .union(eb.selectFrom('reading_unit as n').select('n.reading_id').where('n.unit_id', '=', unitId)),
    )
  }
  if (after) query = query.where(isAfter('r.taken_at', 'r.id', after))
  return await query.orderBy('r.taken_at', 'desc').orderBy('r.id', 'desc').limit(limit).execute()
}

/** The pressures of readings. */
export function listPressuresOf(db: Reader, readingIds: readonly number[]) {
  return placedCircuits(db)
    .innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')
    .select(['p.reading_id', 'u.number as unit', 'g.name as group', 'c.name as circuit', 'p.psi'])
    .where('p.reading_id', 'in', readingIds)
    .orderBy('p.reading_id')
    .orderBy('p.circuit_id')
    .execute()
}

/**
 * Calibrations, voided ones among them, with the line where one is in use; `text` is looked for in unit, group and
 * name.
 */
export function listAllCalibrations(db: Reader, { text = '', unitId, after, limit }: PageAsked) {
  let query = placedCalibrations(db)
    .leftJoin('group_standing as l', 'l.calibration_id', 'k.id')
    .select((eb) => [
      'k.id',
      'u.number as unit',
      'g.name as group',
      'k.calibrated_at',
      'k.calibrated_by',
      'k.voided_at',
      'k.voided_by',
      'k.void_reason',
      'l.a',
      'l.b',
      'l.u_limit_lb',
      eb
        .selectFrom('calibration_point as p')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .whereRef('p.calibration_id', '=', 'k.id')
        .as('points'),
    ])
  for (const word of wordsOf(text))
    query = query.where(containsWord(sql<string>`concat_ws(' ', u.number, g.name, k.calibrated_by)`, word))
  if (unitId !== undefined) query = query.where('g.unit_id', '=', unitId)
  if (after) query = query.where(isAfter('k.calibrated_at', 'k.id', after))
  return query.orderBy('k.calibrated_at', 'desc').orderBy('k.id', 'desc').limit(limit).execute()
}

/** The stored findings about a ticket. */
export const listTicketFindings = (db: Reader, ticketId: number) =>
  db
    .selectFrom('finding as f')
    .leftJoin('unit as u', 'u.id', 'f.unit_id')
    .leftJoin('axle_group as g', 'g.id', 'f.group_id')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .select(['f.code', 'f.severity', 'f.variant', 'f.facts'])
    .select(['u.number as unit', 'g.name as group', 'c.name as circuit'])
    .where('f.ticket_id', '=', ticketId)
    .orderBy('f.id')
    .execute()

/** The readings of a unit that go with a ticket, by the names people use. */
export const listWeighedReadings = (db: Reader, unitId: number) =>
  db
    .selectFrom('reading as r')
    .innerJoin('ticket as t', 't.id', 'r.ticket_id')
    .select(['r.id as readingId', 'r.name as reading', 't.id as ticketId', 't.number as ticket'])
    .where('t.id', 'in', (eb) => eb.selectFrom('ticket_weight').select('ticket_id').where('unit_id', '=', unitId))
    .execute()
