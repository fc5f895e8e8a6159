import { type ExpressionBuilder, sql } from 'kysely'
import type { GroupRole, UnitKind } from '#core/fleet/vocabulary.ts'
import type { Reader } from '#core/store/open.ts'
import type { Schema } from '#core/store/schema.ts'
import type { HeavyVerdict, LimitKind } from '#core/weight/heavy.ts'

/** Which weighings are counted. from and to: days, both included. */
export interface HeavySpan {
  readonly kinds: readonly LimitKind[]
  readonly from?: string | undefined
  readonly to?: string | undefined
  readonly unitId?: number | undefined
  readonly yardId?: number | undefined
}

/** How many weighings there were, how many of them were over a limit of the kinds asked for, how many too close to call. */
export interface HeavyTally {
  readonly weighings: number
  readonly over: number
  readonly close: number
}

type Tables = Schema & { w: Schema['weighed_unit'] }
type Builder = ExpressionBuilder<Tables, 'w'>
const columnOf = { group: 'w.group_verdict', gross: 'w.gross_verdict', bridge: 'w.bridge_verdict' } as const

const isSome = (eb: Builder, kinds: readonly LimitKind[], rank: 1 | 2) => eb.or(kinds.map((kind) => eb(columnOf[kind], '=', rank)))

/** Tallies of weighed_unit as `w`, where anything of the kinds was weighed. */
const tallies = (kinds: readonly LimitKind[]) => (eb: Builder) => [
  eb.fn.countAll<number>().as('weighings'),
  eb.fn.sum<number>(eb.case().when(isSome(eb, kinds, 2)).then(1).else(0).end()).as('over'),
  eb.fn.sum<number>(eb.case().when(isSome(eb, kinds, 2)).then(0).when(isSome(eb, kinds, 1)).then(1).else(0).end()).as('close'),
]

const isCounted = ({ kinds, from, to }: HeavySpan) => (eb: Builder) => eb.and([
  eb.or(kinds.map((kind) => eb(columnOf[kind], 'is not', null))),
  ...(from === undefined ? [] : [eb('w.weighed_on', '>=', from)]),
  ...(to === undefined ? [] : [eb('w.weighed_on', '<=', to)]),
])

/** One row a weighing: of the unit asked about, otherwise of the unit at the head, at home in the yard asked about. */
const isOneAWeighing = ({ unitId, yardId }: HeavySpan) => (eb: Builder) => eb.and([
  unitId === undefined ? eb('w.leads', '=', 1) : eb('w.unit_id', '=', unitId),
  ...(yardId === undefined ? [] : [eb('w.unit_id', 'in', eb.selectFrom('unit').select('unit.id').where('unit.yard_id', '=', yardId))]),
])

export async function tallyByMonth(db: Reader, span: HeavySpan): Promise<(HeavyTally & { readonly month: string })[]> {
  const month = sql<string>`substr(w.weighed_on, 1, 7)`
  return db.selectFrom('weighed_unit as w').select(tallies(span.kinds)).select(month.as('month')).where(isCounted(span)).where(isOneAWeighing(span))
    .groupBy(month).orderBy('month').execute()
}

export async function tallyByYard(db: Reader, span: HeavySpan): Promise<(HeavyTally & { readonly yard: string | null })[]> {
  return db.selectFrom('weighed_unit as w').innerJoin('unit as u', 'u.id', 'w.unit_id').leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(tallies(span.kinds)).select('y.name as yard').where(isCounted(span)).where(isOneAWeighing(span)).groupBy('u.yard_id').orderBy('y.name').execute()
}

export interface UnitTally extends HeavyTally {
  readonly unit: string
  readonly kind: UnitKind
  readonly yard: string | null
  /** The most that it was over by, lb; null where it never was. */
  readonly worstLb: number | null
}

/** Units with their weighings, the unit at the head standing for its whole combination. */
export async function tallyByUnit(db: Reader, span: HeavySpan): Promise<UnitTally[]> {
  const { unitId, yardId } = span
  const counted = db.selectFrom('weighed_unit as w').select(tallies(span.kinds)).select('w.unit_id').where(isCounted(span))
    .$if(unitId !== undefined, (query) => query.where('w.unit_id', '=', unitId as number)).groupBy('w.unit_id')
  const rows = await db.with('counted', () => counted).selectFrom('counted as c').innerJoin('unit as u', 'u.id', 'c.unit_id').leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['c.unit_id', 'c.weighings', 'c.over', 'c.close', 'u.number as unit', 'u.kind', 'y.name as yard'])
    .$if(yardId !== undefined, (query) => query.where('u.yard_id', '=', yardId as number)).orderBy('u.number').execute()
  const worst = new Map<number, number>()
  for (const owner of ['h.unit_id', 'h.lead_unit_id'] as const) {
    for (const { id, lb } of await worstBy(db, owner, span)) worst.set(id, Math.max(lb, worst.get(id) ?? 0))
  }
  return rows.map(({ unit_id, ...row }) => ({ ...row, worstLb: worst.get(unit_id) ?? null }))
}

/** The most that anything was over by, by the unit whose limit it is or that led the combination. */
function worstBy(db: Reader, owner: 'h.unit_id' | 'h.lead_unit_id', { kinds, from, to }: HeavySpan) {
  return db.selectFrom('heavy as h').select(({ fn, ref }) => [ref(owner).as('id'), fn.max('h.over_lb').as('lb')])
    .where('h.superseded', '=', 0).where('h.verdict', '=', 'over').where('h.limit_kind', 'in', kinds)
    .$if(from !== undefined, (query) => query.where('h.weighed_at', '>=', from as string))
    .$if(to !== undefined, (query) => query.where('h.weighed_at', '<=', `${to}T23:59:59.999Z`))
    .groupBy(owner).execute()
}

export interface LimitTally {
  readonly kind: LimitKind
  /** Of the group; null for gross and bridge sets. */
  readonly role: GroupRole | null
  readonly verdict: HeavyVerdict
  readonly weighings: number
  readonly worstLb: number
}

/** Weighings that were heavy, by what was: the role of a group, gross, a bridge set. */
export function tallyByLimit(db: Reader, { kinds, from, to, unitId, yardId }: HeavySpan): Promise<LimitTally[]> {
  return db.selectFrom('heavy as h').leftJoin('axle_group as g', 'g.id', 'h.group_id')
    .select(({ fn }) => ['h.limit_kind as kind', 'g.role', 'h.verdict', fn.count<number>('h.weighing').distinct().as('weighings'), fn.max('h.over_lb').as('worstLb')])
    .where('h.superseded', '=', 0).where('h.limit_kind', 'in', kinds)
    .$if(from !== undefined, (query) => query.where('h.weighed_at', '>=', from as string))
    .$if(to !== undefined, (query) => query.where('h.weighed_at', '<=', `${to}T23:59:59.999Z`))
    .$if(unitId !== undefined, (query) => query.where((eb) => eb.or([eb('h.unit_id', '=', unitId as number), eb('h.lead_unit_id', '=', unitId as number)])))
    .$if(yardId !== undefined, (query) => query.where('h.lead_unit_id', 'in', (eb) => eb.selectFrom('unit').select('unit.id').where('unit.yard_id', '=', yardId as number)))
    .groupBy(['h.limit_kind', 'g.role', 'h.verdict']).orderBy('h.limit_kind').orderBy('g.role').execute()
}
