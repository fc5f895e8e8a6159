import { type ExpressionBuilder, sql } from 'kysely'
import type { Reader } from '#core/store/open.ts'
import type { Schema } from '#core/store/schema.ts'
import { type LimitKind, heavyVerdicts } from '#core/weight/heavy.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import { type LocalDay, endOfDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { GroupRole, UnitKind } from '#core/words/vocabulary.ts'

/** Which weighings are counted. from and to: days of the fleet's zone, both included. */
export interface HeavySpan {
  readonly zone: string
  /** Days after it are not counted: a weighing may be dated ahead, by a clock that goes wrong or a mistyped year. */
  readonly today: LocalDay
  readonly kinds: readonly LimitKind[]
  readonly from?: LocalDay | undefined
  readonly to?: LocalDay | undefined
  readonly unitId?: number | undefined
  readonly yardId?: number | undefined
}

/**
 * How many weighings there were, how many of them were over a limit of the kinds asked for, how many too close to call.
 */
export interface HeavyTally {
  readonly weighings: number
  readonly over: number
  readonly close: number
}

type Tables = Schema & { w: Schema['weighed_unit'] }
type Builder = ExpressionBuilder<Tables, 'w'>
const columnOf = { group: 'w.group_verdict', gross: 'w.gross_verdict', bridge: 'w.bridge_verdict' } as const

const isSome = (eb: Builder, kinds: readonly LimitKind[], rank: 1 | 2) =>
  eb.or(kinds.map((kind) => eb(columnOf[kind], '=', rank)))

/** Tallies of weighed_unit as `w`, where anything of the kinds was weighed. */
export const tallies = (kinds: readonly LimitKind[]) => (eb: Builder) => [
  eb.fn.countAll<number>().as('weighings'),
  eb.fn
    .sum<number>(
      eb
        .case()
        .when(isSome(eb, kinds, 2))
        .then(1)
        .else(0)
        .end(),
    )
    .as('over'),
  eb.fn
    .sum<number>(
      eb
        .case()
        .when(isSome(eb, kinds, 2))
        .then(0)
        .when(isSome(eb, kinds, 1))
        .then(1)
        .else(0)
        .end(),
    )
    .as('close'),
]

const isCounted =
  ({ kinds, from, to, today }: HeavySpan) =>
  (eb: Builder) =>
    eb.and([
      eb.or(kinds.map((kind) => eb(columnOf[kind], 'is not', null))),
      eb('w.weighed_on', '<=', today),
      ...(from === undefined ? [] : [eb('w.weighed_on', '>=', from)]),
      ...(to === undefined ? [] : [eb('w.weighed_on', '<=', to)]),
    ])

/** One row a weighing: of the unit asked about, otherwise of the unit at the head, at home in the yard asked about. */
const isOneAWeighing =
  ({ unitId, yardId }: HeavySpan) =>
  (eb: Builder) =>
    eb.and([
      unitId === undefined ? eb('w.leads', '=', 1) : eb('w.unit_id', '=', unitId),
      ...(yardId === undefined
        ? []
        : [eb('w.unit_id', 'in', eb.selectFrom('unit').select('unit.id').where('unit.yard_id', '=', yardId))]),
    ])

/** By month, YYYY-MM: from the tallies of days, which an index has in their order. */
export async function tallyByMonth(db: Reader, span: HeavySpan): Promise<(HeavyTally & { readonly month: string })[]> {
  const byDay = db
    .selectFrom('weighed_unit as w')
    .select(tallies(span.kinds))
    .select('w.weighed_on')
    .where(isCounted(span))
    .where(isOneAWeighing(span))
    .groupBy('w.weighed_on')
  const month = sql<string>`substr(d.weighed_on, 1, 7)`
  return db
    .with('by_day', () => byDay)
    .selectFrom('by_day as d')
    .select(({ fn }) => [
      fn.sum<number>('d.weighings').as('weighings'),
      fn.sum<number>('d.over').as('over'),
      fn.sum<number>('d.close').as('close'),
    ])
    .select(month.as('month'))
    .groupBy(month)
    .orderBy('month')
    .execute()
}

export async function tallyByYard(
  db: Reader,
  span: HeavySpan,
): Promise<(HeavyTally & { readonly yard: string | null })[]> {
  return db
    .selectFrom('weighed_unit as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(tallies(span.kinds))
    .select('y.name as yard')
    .where(isCounted(span))
    .where(isOneAWeighing(span))
    .groupBy('u.yard_id')
    .orderBy('y.name')
    .execute()
}

export interface UnitTally extends HeavyTally {
  readonly unit: string
  readonly kind: UnitKind
  readonly yard: string | null
  /** The most that it was over by, lb; null where it never was. */
  readonly worstLb: number | null
}

/**
 * Weights that are heavy by all evidence, by the combination's head, the unit whose limit it is, and what it is of:
 * the order in which an index has them.
 */
const countedHeavy = (db: Reader, { kinds, from, to, today, zone }: HeavySpan) =>
  db
    .selectFrom('heavy as h')
    .select(({ fn }) => [
      'h.lead_unit_id',
      'h.unit_id',
      'h.limit_kind',
      'h.group_id',
      'h.verdict',
      fn.countAll<number>().as('weights'),
      fn.max('h.over_lb').as('worst_lb'),
    ])
    .where('h.superseded', '=', 0)
    .where('h.verdict', 'in', heavyVerdicts)
    .where('h.limit_kind', 'in', kinds)
    // Nearly all of them, so that they are not to be found by it.
    .where(sql<string>`+h.weighed_at`, '<=', toStoredInstant(endOfDay(today, zone)))
    .$call((query) =>
      from === undefined ? query : query.where('h.weighed_at', '>=', toStoredInstant(startOfDay(from, zone))),
    )
    .$call((query) =>
      to === undefined ? query : query.where('h.weighed_at', '<=', toStoredInstant(endOfDay(to, zone))),
    )
    .groupBy(['h.lead_unit_id', 'h.unit_id', 'h.limit_kind', 'h.group_id', 'h.verdict'])

/** The most that each unit was over by, its own or, leading, its combination's. */
async function worstByUnit(db: Reader, span: HeavySpan): Promise<Map<number, number>> {
  const rows = await countedHeavy(db, span).where('h.verdict', '=', 'over').execute()
  const worst = new Map<number, number>()
  for (const { lead_unit_id, unit_id, worst_lb } of rows) {
    for (const id of [lead_unit_id, unit_id]) worst.set(id, Math.max(worst_lb, worst.get(id) ?? 0))
  }
  return worst
}

/** Units with their weighings, the unit at the head standing for its whole combination. */
export async function tallyByUnit(db: Reader, span: HeavySpan): Promise<UnitTally[]> {
  const { unitId, yardId } = span
  const counted = db
    .selectFrom('weighed_unit as w')
    .select(tallies(span.kinds))
    .select('w.unit_id')
    .where(isCounted(span))
    .$call((query) => (unitId === undefined ? query : query.where('w.unit_id', '=', unitId)))
    .groupBy('w.unit_id')
  const rows = await db
    .with('counted', () => counted)
    .selectFrom('counted as c')
    .innerJoin('unit as u', 'u.id', 'c.unit_id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['c.unit_id', 'c.weighings', 'c.over', 'c.close', 'u.number as unit', 'u.kind', 'y.name as yard'])
    .$call((query) => (yardId === undefined ? query : query.where('u.yard_id', '=', yardId)))
    .orderBy('u.number')
    .execute()
  const worst = await worstByUnit(db, span)
  return rows.map(({ unit_id, ...row }) => ({ ...row, worstLb: worst.get(unit_id) ?? null }))
}

export interface LimitTally {
  readonly kind: LimitKind
  /** Of the group; null for gross and bridge sets. */
  readonly role: GroupRole | null
  readonly verdict: Verdict
  readonly weights: number
  readonly worstLb: number
}

/** Weights that were heavy, by what they were of: a group of some role, gross, a bridge set. */
export function tallyByLimit(db: Reader, span: HeavySpan): Promise<LimitTally[]> {
  const { unitId, yardId } = span
  return db
    .with('counted', () => countedHeavy(db, span))
    .selectFrom('counted as c')
    .leftJoin('axle_group as g', 'g.id', 'c.group_id')
    .select(({ fn }) => [
      'c.limit_kind as kind',
      'g.role',
      'c.verdict',
      fn.sum<number>('c.weights').as('weights'),
      fn.max('c.worst_lb').as('worstLb'),
    ])
    .$call((query) =>
      unitId === undefined
        ? query
        : query.where((eb) => eb.or([eb('c.unit_id', '=', unitId), eb('c.lead_unit_id', '=', unitId)])),
    )
    .$call((query) =>
      yardId === undefined
        ? query
        : query.where('c.lead_unit_id', 'in', (eb) =>
            eb.selectFrom('unit').select('unit.id').where('unit.yard_id', '=', yardId),
          ),
    )
    .groupBy(['c.limit_kind', 'g.role', 'c.verdict'])
    .orderBy('c.limit_kind')
    .orderBy('g.role')
    .execute()
}
