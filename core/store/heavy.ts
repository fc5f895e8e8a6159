import { type Expression, type ExpressionBuilder, type SqlBool, sql } from 'kysely'
import { recordChanges } from '#core/store/change-log.ts'
import { editRecord } from '#core/store/edit-record.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { scaleTickets } from '#core/store/placed.ts'
import type { Schema } from '#core/store/schema.ts'
import type { HeavySource, LimitKind } from '#core/weight/heavy.ts'
import { type Verdict, verdicts as allVerdicts } from '#core/weight/verdict.ts'
import type { Hand } from '#core/words/change.ts'

/** Which heavy weights are asked for. from and to: stored instants, both included. */
export interface HeavyFilter {
  /** What concerns this unit: its groups, and gross and bridge sets of the combinations that it stood in. */
  readonly unitId?: number | undefined
  /** Units at home in this yard lead the combination. */
  readonly yardId?: number | undefined
  readonly kinds?: readonly LimitKind[] | undefined
  /** By all evidence; `under` are those that are heavy by their line alone. */
  readonly verdicts: readonly Verdict[]
  readonly sources?: readonly HeavySource[] | undefined
  /** Onboard weights about which a ticket of the same weighing has decided. */
  readonly superseded: boolean
  /** Only onboard weights of which something else was said: by their line in use, or before more came to be known. */
  readonly changed?: boolean | undefined
  readonly from?: string | undefined
  readonly to?: string | undefined
}

export type HeavySort = 'weighed_at' | 'over_lb' | 'p_over' | 'weight_lb'

/** A page of the log. */
export interface HeavyPage {
  readonly sort: HeavySort
  readonly descending: boolean
  readonly offset: number
  readonly limit: number
}

type Tables = Schema & { h: Schema['heavy'] }

function isWanted({ unitId, yardId, kinds, verdicts, sources, superseded, changed, from, to }: HeavyFilter) {
  return (eb: ExpressionBuilder<Tables, 'h'>): Expression<SqlBool> => {
    // Of one unit the rows are few, and known by their ids: the log's own order is not to be walked for them.
    const isSuperseded = unitId === undefined ? eb.ref('h.superseded') : sql<number>`+h.superseded`
    const conditions: Expression<SqlBool>[] = superseded ? [] : [eb(isSuperseded, '=', 0)]
    if (verdicts.length < allVerdicts.length) conditions.push(eb('h.verdict', 'in', verdicts))
    if (changed === true)
      conditions.push(eb.or([eb('h.said_verdict', 'is not', null), eb('h.line_verdict', '!=', eb.ref('h.verdict'))]))
    if (from !== undefined) conditions.push(eb('h.weighed_at', '>=', from))
    if (to !== undefined) conditions.push(eb('h.weighed_at', '<=', to))
    if (kinds) conditions.push(eb('h.limit_kind', 'in', kinds))
    if (sources) conditions.push(eb('h.source', 'in', sources))
    if (yardId !== undefined)
      conditions.push(eb('h.lead_unit_id', 'in', eb.selectFrom('unit').select('id').where('yard_id', '=', yardId)))
    if (unitId !== undefined) {
      // Its own weights, and those of the combinations that it stood in: each found by an index of its own, which one
      // condition with an OR beside the order of the log would not be.
      const own = eb.selectFrom('heavy as o').select('o.id').where('o.unit_id', '=', unitId)
      const stood = eb
        .selectFrom('weighed_unit as w')
        .innerJoin('heavy as o', 'o.weighing', 'w.weighing')
        .select('o.id')
        .where('w.unit_id', '=', unitId)
        .where('o.limit_kind', '!=', 'group')
      conditions.push(eb('h.id', 'in', own.union(stood)))
    }
    return eb.and(conditions)
  }
}

type Chosen = (query: ReturnType<typeof chooseHeavy>) => ReturnType<typeof chooseHeavy>
const chooseHeavy = (db: Reader, filter: HeavyFilter) =>
  db.selectFrom('heavy as h').select('h.id').where(isWanted(filter))

/** The rows that are chosen by their ids first, so that names and notes are only looked up for those. */
const selectHeavy = (db: Reader, filter: HeavyFilter, choose: Chosen) =>
  db
    .with('chosen', () => choose(chooseHeavy(db, filter)))
    .selectFrom('chosen as c')
    .innerJoin('heavy as h', 'h.id', 'c.id')
    .innerJoin('unit as u', 'u.id', 'h.unit_id')
    .innerJoin('unit as l', 'l.id', 'h.lead_unit_id')
    .leftJoin('yard as y', 'y.id', 'l.yard_id')
    .leftJoin('axle_group as g', 'g.id', 'h.group_id')
    .leftJoin('reading as r', 'r.id', 'h.reading_id')
    .leftJoin('ticket as t', 't.id', 'h.ticket_id')
    .leftJoin('scale as s', 's.id', 't.scale_id')
    .select([
      'h.id',
      'h.weighing',
      'h.source',
      'h.superseded',
      'h.weighed_at',
      'u.number as unit',
      'y.name as yard',
      'h.limit_kind',
      'g.name as group',
      'g.role',
      'h.first_axle',
      'h.last_axle',
      'h.length_ft',
      'h.more_sets',
      'h.weight_lb',
      'h.u_lb',
      'h.limit_lb',
      'h.over_lb',
      'h.p_over',
      'h.verdict',
      'h.line_weight_lb',
      'h.line_u_lb',
      'h.line_verdict',
      'h.provisional',
      'h.said_verdict',
      'h.said_weight_lb',
      'h.said_u_lb',
      'h.group_id',
      'h.unit_id',
      'r.name as reading',
      't.number as ticket',
      's.name as scale',
      'r.note as reading_note',
      'h.reading_id',
      'h.ticket_id',
    ])
    // A driver's note stands with the ticket or with the reading; an onboard weight of a ticket shows either.
    .select(({ fn }) => [
      fn.coalesce('r.note', 't.note').as('note'),
      fn.coalesce('t.driver', 'r.driver').as('driver'),
      fn.coalesce('t.lane', 'r.lane').as('lane'),
    ])

/** Heavy weights, a page of them. A tie is told in the order in which they were stored. */
export function listHeavy(db: Reader, filter: HeavyFilter, { sort, descending, offset, limit }: HeavyPage) {
  const direction = descending ? 'desc' : 'asc'
  return selectHeavy(db, filter, (query) =>
    query.orderBy(`h.${sort}`, direction).orderBy('h.id', direction).limit(limit).offset(offset),
  )
    .orderBy(`h.${sort}`, direction)
    .orderBy('h.id', direction)
    .execute()
}
export type HeavyRow = Awaited<ReturnType<typeof listHeavy>>[number]

const inStretch = 5000

/** All of them in the order of time, a stretch at a time, however many. */
export async function* eachHeavy(db: Reader, filter: HeavyFilter): AsyncGenerator<readonly HeavyRow[]> {
  let last: HeavyRow | undefined
  do {
    const after = last
    const rows = await selectHeavy(db, filter, (query) =>
      (after
        ? query.where((eb) =>
            eb.and([
              eb('h.weighed_at', '>=', after.weighed_at),
              eb.or([eb('h.weighed_at', '>', after.weighed_at), eb('h.id', '>', after.id)]),
            ]),
          )
        : query
      )
        .orderBy('h.weighed_at')
        .orderBy('h.id')
        .limit(inStretch),
    )
      .orderBy('h.weighed_at')
      .orderBy('h.id')
      .execute()
    yield rows
    last = rows.length === inStretch ? rows.at(-1) : undefined
  } while (last)
}

export async function countHeavy(db: Reader, filter: HeavyFilter): Promise<number> {
  const { count } = await db
    .selectFrom('heavy as h')
    .select(({ fn }) => fn.countAll<number>().as('count'))
    .where(isWanted(filter))
    .executeTakeFirstOrThrow()
  return count
}

/** The units of weighings, in coupling order. */
export async function listCombinations(db: Reader, weighings: readonly number[]): Promise<Map<number, string[]>> {
  if (weighings.length === 0) return new Map()
  const rows = await db
    .selectFrom('weighed_unit as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .select(['w.weighing', 'u.number'])
    .where('w.weighing', 'in', weighings)
    .orderBy('w.weighing')
    .orderBy('w.leads', 'desc')
    .orderBy('u.id')
    .execute()
  const units = new Map<number, string[]>()
  for (const { weighing, number } of rows) {
    const own = units.get(weighing)
    if (own) own.push(number)
    else units.set(weighing, [number])
  }
  return units
}

/** What a driver's note stands with. */
export interface NotedRecord {
  readonly table: 'reading' | 'ticket'
  readonly id: number
  /** How people name it. */
  readonly name: string
  readonly note: string | null
}

export async function findNotedReading(db: Reader, name: string): Promise<NotedRecord | undefined> {
  const row = await db.selectFrom('reading').select(['id', 'name', 'note']).where('name', '=', name).executeTakeFirst()
  return row && { table: 'reading', ...row }
}

export async function findNotedTicket(db: Reader, scale: string, number: string): Promise<NotedRecord | undefined> {
  const row = await scaleTickets(db)
    .select(['t.id', 't.number', 't.note'])
    .where('s.name', '=', scale)
    .where('t.number', '=', number)
    .executeTakeFirst()
  return row && { table: 'ticket', id: row.id, name: `${row.number} of ${scale}`, note: row.note }
}

/**
 * Writes a driver's note, or takes it away (null), and takes the change down with what stood there before. was: the
 * note that the person saw. Errors: ConflictError where another one is stored by now; TarelineError `gone`.
 */
export async function writeNote(
  db: Writer,
  { table, id, name }: NotedRecord,
  { was, note }: { readonly was: string | null; readonly note: string | null },
  hand: Hand,
): Promise<void> {
  const changes = await editRecord(db, {
    subject: table,
    key: name,
    unitId: null,
    id,
    was: { note: was },
    now: { note },
    action: 'noted',
  })
  await recordChanges(db, hand, changes)
}
