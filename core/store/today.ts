import type { ExpressionBuilder } from 'kysely'
import type { FindingCode, Severity, Trust } from '#core/findings/finding.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { placedGroups } from '#core/store/placed.ts'
import { walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import type { LocalDay } from '#core/words/day.ts'

/** Which yard's units are asked for: its id, null for units without one, undefined for all. */
export type OfYard = number | null | undefined

type WithUnit = Schema & { u: Schema['unit'] }

/** Units in service, at home in the yard asked for. */
const isAsked = (yardId: OfYard) => (eb: ExpressionBuilder<WithUnit, 'u'>) =>
  eb.and([
    eb('u.service_state', '=', 'in service'),
    ...(yardId === undefined ? [] : [yardId === null ? eb('u.yard_id', 'is', null) : eb('u.yard_id', '=', yardId)]),
  ])

/** What is told of its cells stands among what comes due. */
const cellCodes: readonly FindingCode[] = ['battery-due', 'battery-overdue']

/** One finding as far as it takes to put it in its place. */
export interface FindingMark {
  readonly id: number
  readonly code: FindingCode
  readonly severity: Severity
  /** Stored instant. */
  readonly since: string | null
}

/**
 * Every finding that takes trust away, of units in service and of what belongs to no unit (scales, tickets): one walk,
 * without the sentences.
 */
export function listFindingMarks({ db, raw }: Store, yardId: OfYard): FindingMark[] {
  const query = db
    .selectFrom('finding as f')
    .leftJoin('unit as u', 'u.id', 'f.unit_id')
    .select(['f.id', 'f.code', 'f.severity', 'f.since'])
    .where('f.severity', 'in', ['stop', 'warn'])
    .where('f.code', 'not in', cellCodes)
    .where((eb) => eb.or([eb('f.unit_id', 'is', null), isAsked(yardId)(eb as never)]))
    .orderBy('f.id')
  return Array.from(
    walk<[number, FindingCode, Severity, string | null]>(raw, query),
    ([id, code, severity, since]) => ({
      id,
      code,
      severity,
      since,
    }),
  )
}

/** Findings in full under the names people use. */
const findingRows = (db: Reader) =>
  db
    .selectFrom('finding as f')
    .leftJoin('unit as u', 'u.id', 'f.unit_id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .leftJoin('axle_group as g', 'g.id', 'f.group_id')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .leftJoin('scale as s', 's.id', 'f.scale_id')
    .leftJoin('ticket as t', 't.id', 'f.ticket_id')
    .leftJoin('scale as ts', 'ts.id', 't.scale_id')
    .select([
      'f.id',
      'f.code',
      'f.severity',
      'f.since',
      'f.variant',
      'f.facts',
      'f.numbers',
      'f.unit_id as unitId',
      'u.number as unit',
      'y.name as yard',
      'g.name as group',
      'c.name as circuit',
      't.number as ticket',
      'f.ticket_id as ticketId',
    ])
    .select(({ fn }) => fn.coalesce('s.name', 'ts.name').as('scale'))

/** Some of them by id. */
export const readFindings = (db: Reader, ids: readonly number[]) => findingRows(db).where('f.id', 'in', ids).execute()

/** All of units in service and of what belongs to no unit, in the order in which they were found. */
export const listAllFindings = (db: Reader, yardId: OfYard) =>
  findingRows(db)
    .where((eb) => eb.or([eb('f.unit_id', 'is', null), isAsked(yardId)(eb as never)]))
    .orderBy('f.id')
    .execute()
export type FindingOfToday = Awaited<ReturnType<typeof readFindings>>[number]

/** The standings of sensed groups of units in service. */
const standingsAsked = (db: Reader, yardId: OfYard) =>
  db
    .selectFrom('group_standing as l')
    .innerJoin('unit as u', 'u.id', 'l.unit_id')
    .where((eb) => isAsked(yardId)(eb as never))

/** How many groups stand in each state of trust. */
export const countByTrust = (db: Reader, yardId: OfYard) =>
  standingsAsked(db, yardId)
    .select(['l.trust', ({ fn }) => fn.countAll<number>().as('groups')])
    .groupBy('l.trust')
    .$narrowType<{ trust: Trust }>()
    .execute()

/** Groups in one of some states whose lines come due until a day, the first to come due first. */
export const listDueLines = (db: Reader, yardId: OfYard, states: readonly Trust[], until: LocalDay) =>
  standingsAsked(db, yardId)
    .select(['l.group_id as groupId', 'l.due_on as dueOn'])
    .where('l.trust', 'in', states)
    .where('l.due_on', '<=', until)
    .orderBy('l.due_on')
    .orderBy('l.group_id')
    .$narrowType<{ dueOn: string }>()
    .execute()

/** Groups whose trust is another than they were judged to have for an earlier day. */
export const listMovedTrust = (db: Reader, yardId: OfYard) =>
  standingsAsked(db, yardId)
    .innerJoin('standing_before as b', 'b.group_id', 'l.group_id')
    .select(['l.group_id as groupId', 'b.trust as was', 'l.trust as now', 'b.judged_for as judgedBefore'])
    .whereRef('b.trust', '<>', 'l.trust')
    .orderBy('l.group_id')
    .$narrowType<{ was: Trust; now: Trust }>()
    .execute()

/** Some values a statement, far below SQLite's 32,766. */
const inStatement = 5000

/** Groups under the names that people use, by id. */
export async function nameGroups(db: Reader, ids: readonly number[]) {
  const named = new Map<number, { readonly unit: string; readonly yard: string | null; readonly group: string }>()
  for (let at = 0; at < ids.length; at += inStatement) {
    const rows = await placedGroups(db)
      .leftJoin('yard as y', 'y.id', 'u.yard_id')
      .select(['g.id', 'u.number as unit', 'y.name as yard', 'g.name as group'])
      .where('g.id', 'in', ids.slice(at, at + inStatement))
      .execute()
    for (const { id, ...names } of rows) named.set(id, names)
  }
  return named
}

/** What is found of cells, with the day by which each is to be swapped (`numbers`, JSON). */
export function listCellFindings(db: Reader, yardId: OfYard) {
  return db
    .selectFrom('finding as f')
    .innerJoin('unit as u', 'u.id', 'f.unit_id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .leftJoin('axle_group as g', 'g.id', 'f.group_id')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .select(['f.code', 'f.numbers', 'u.number as unit', 'y.name as yard', 'g.name as group', 'c.name as circuit'])
    .where('f.code', 'in', cellCodes)
    .where((eb) => isAsked(yardId)(eb as never))
    .execute()
}

/** Visits planned from one day to another, both included, by day. */
export function listVisitsBetween(db: Reader, yardId: OfYard, from: LocalDay, until: LocalDay) {
  return db
    .selectFrom('planned_visit as v')
    .innerJoin('unit as u', 'u.id', 'v.unit_id')
    .leftJoin('yard as y', (join) => join.on('y.id', '=', ({ fn }) => fn.coalesce('v.yard_id', 'u.yard_id')))
    .select(['u.number as unit', 'y.name as yard', 'v.visit_on'])
    .where('v.visit_on', '>=', from)
    .where('v.visit_on', '<=', until)
    .where((eb) => isAsked(yardId)(eb as never))
    .orderBy('v.visit_on')
    .orderBy('u.number')
    .execute()
}

/** What people and imports have recorded from a moment on (a stored instant), counted by who, what and how. */
export function countRecorded(db: Reader, from: string) {
  return db
    .selectFrom('change_log')
    .select(({ fn }) => ['changed_by', 'subject', 'action', fn.countAll<number>().as('changes')])
    .where('changed_at', '>=', from)
    .groupBy(['changed_by', 'subject', 'action'])
    .orderBy(({ fn }) => fn.max('id'), 'desc')
    .execute()
}
