import { sql } from 'kysely'
import type { FleetFigures } from '#core/cells/fleet-figures.ts'
import { liftOfTicket, liftOfUnit } from '#core/evidence/lift.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { isCompleteTicket } from '#core/evidence/whole-ticket.ts'
import { learnEstimates } from '#core/findings/assess-fleet.ts'
import { isFleetBehind, readFigures, readFiguresOfDay } from '#core/store/books.ts'
import type { FleetPlaces } from '#core/store/fleet-places.ts'
import { type Extent, openRecord, openTeachers, readRecord, readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { frontToBack } from '#core/store/placed.ts'
import { unitsBeside } from '#core/store/reading-units.ts'
import { walk } from '#core/store/rows.ts'
import { heardUntil } from '#core/store/silences.ts'
import {
  type FifthWheelStatics,
  type SteerFacts,
  type SteerTicket,
  fifthWheelStatics,
  fleetSteerScatterLb,
} from '#core/weight/steer.ts'
import { type TareTicket, heaviestEmptyLb } from '#core/weight/tare.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'
import type { WeighFacts, WeighSource } from '#core/weight/weigher.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import type { GroupRole, LiftState, Measure, UnitKind } from '#core/words/vocabulary.ts'

/** Later than anything on record: what is dated ahead itself is weighed by the whole of it. */
const everything = Date.UTC(2200, 0, 1)

/** Tractors whose tickets tell by how much the fleet's steer weights scatter: an even choice of them. */
const mostSteerTeachers = 300

/**
 * Tickets that carry the steer and the drive weight of a unit whose steer group has no circuit, by unit, in the order
 * of time.
 */
function listSteerTickets({ db, raw }: Store, unitIds: readonly number[], untilMs: number): Map<number, SteerTicket[]> {
  const query = db
    .selectFrom('axle_group as gs')
    .innerJoin('ticket_weight as ws', 'ws.group_id', 'gs.id')
    .innerJoin('ticket as t', 't.id', 'ws.ticket_id')
    .innerJoin('ticket_weight as wd', (join) =>
      join.onRef('wd.ticket_id', '=', 'ws.ticket_id').onRef('wd.unit_id', '=', 'ws.unit_id'),
    )
    .innerJoin('axle_group as gd', (join) => join.onRef('gd.id', '=', 'wd.group_id').on('gd.role', '=', 'drive'))
    .select((eb) => [
      'ws.unit_id',
      't.weighed_at',
      't.scale_id',
      'ws.weight_lb as steer_lb',
      'wd.weight_lb as drive_lb',
      eb
        .selectFrom('reading as r')
        .whereRef('r.ticket_id', '=', 't.id')
        .select('r.lift')
        .orderBy('r.id')
        .limit(1)
        .as('lift'),
      eb
        .selectFrom('ticket_weight as wl')
        .innerJoin('axle_group as gl', 'gl.id', 'wl.group_id')
        .whereRef('wl.ticket_id', '=', 't.id')
        .whereRef('wl.unit_id', '=', 'ws.unit_id')
        .where('gl.role', '=', 'lift')
        .select(({ fn }) => fn.max('wl.weight_lb').as('lb'))
        .as('lift_lb'),
      eb
        .selectFrom('ticket_weight as wo')
        .innerJoin('axle_group as go', 'go.unit_id', 'wo.unit_id')
        .whereRef('wo.ticket_id', '=', 't.id')
        .whereRef('wo.unit_id', '!=', 'ws.unit_id')
        .where('go.role', '=', 'lift')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .as('others_lift'),
      eb
        .selectFrom('axle_group as gw')
        .whereRef('gw.unit_id', '=', 'ws.unit_id')
        .where('gw.role', '=', 'lift')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .as('own_lift'),
    ])
    .where('gs.role', '=', 'steer')
    .where('gs.unit_id', 'in', unitIds)
    .where('t.weighed_at', '<=', toStoredInstant(untilMs))
    .where('ws.weight_lb', '>', 0)
    .where('wd.weight_lb', '>', 0)
    .orderBy('t.weighed_at')
    .orderBy('t.id')
  type Row = [number, string, number, number, number, LiftState | null, number | null, number, number]
  const tickets = new Map<number, SteerTicket[]>()
  for (const [unitId, weighedAt, scaleId, steerLb, driveLb, lift, liftLb, othersLift, ownLift] of walk<Row>(
    raw,
    query,
  )) {
    const ticket = {
      weighedAt: fromStoredInstant(weighedAt),
      scaleId,
      steerLb,
      driveLb,
      lift: liftOfUnit(liftOfTicket(lift, liftLb), ownLift > 0, othersLift > 0),
    }
    const list = tickets.get(unitId)
    if (list) list.push(ticket)
    else tickets.set(unitId, [ticket])
  }
  return tickets
}

/** Whether a unit's steer weight is estimated from its one drive group. */
function isEstimated({ groups }: UnitToWeigh): boolean {
  const drives = groups.filter(({ role }) => role === 'drive')
  return (
    drives.length === 1 &&
    groups.some(({ role, measuredBy }) => role === 'steer' && (measuredBy === 'estimate' || measuredBy === null))
  )
}

/** Statics hold for a fifth wheel before one drive group; a lift axle beside it, once lowered, changes them. */
function staticsOf(
  { fifthWheelFt, groups }: UnitToWeigh,
  drive: UnitToWeigh['groups'][number],
): FifthWheelStatics | null {
  if (fifthWheelFt === null || drive.firstAxleFt === null || groups.some(({ role }) => role === 'lift')) return null
  if (drive.axles > 1 && drive.axleSpacingFt === null) return null
  const statics = fifthWheelStatics(
    fifthWheelFt,
    drive.firstAxleFt + ((drive.axleSpacingFt ?? 0) * (drive.axles - 1)) / 2,
  )
  return statics.ok ? statics.value : null
}

/** SQLite takes some 32,000 values a statement. */
const idsAtOnce = 20_000

/** What is known at a moment (ms UTC) of the steer weights of those units whose steer weight is estimated. */
function listSteerFacts(
  store: Store,
  units: readonly UnitToWeigh[],
  rules: HouseRules,
  untilMs = everything,
): (SteerFacts & { readonly unitId: number })[] {
  const estimated = units.filter(isEstimated)
  const tickets = new Map<number, SteerTicket[]>()
  for (let start = 0; start < estimated.length; start += idsAtOnce) {
    const ids = estimated.slice(start, start + idsAtOnce).map(({ unitId }) => unitId)
    for (const [unitId, own] of listSteerTickets(store, ids, untilMs)) tickets.set(unitId, own)
  }
  return estimated.map((unit) => {
    const drive = unit.groups.find(({ role }) => role === 'drive') as UnitToWeigh['groups'][number]
    return {
      unitId: unit.unitId,
      tickets: tickets.get(unit.unitId) ?? [],
      statics: staticsOf(unit, drive),
      driveLimitLb: groupLimitLb(drive, rules),
    }
  })
}

/** By how much the fleet's steer weights scatter at one drive weight, lb, from an even choice of its tractors. */
function learnSteerScatterLb(
  store: Store,
  units: readonly UnitToWeigh[],
  rules: HouseRules,
  untilMs = everything,
): number {
  const estimated = units.filter(isEstimated)
  const step = Math.max(1, Math.ceil(estimated.length / mostSteerTeachers))
  const scales = readScales(store)
  return fleetSteerScatterLb(
    listSteerFacts(
      store,
      estimated.filter((_, i) => i % step === 0),
      rules,
      untilMs,
    ),
    (scaleId) => scales.get(scaleId),
    rules,
  )
}

/**
 * Tickets that may be empty ones, with what they say of the whole: the gross as printed, or the sum of all their
 * groups. With `unitIds` those of these units, and those of each of their partners alone. Tickets too heavy to be empty
 * are left out.
 */
export function listTareTickets(
  { db, raw }: Store,
  units: readonly UnitToWeigh[],
  rules: HouseRules,
  { unitIds, untilMs = everything }: { readonly unitIds?: readonly number[]; readonly untilMs?: number } = {},
): TareTicket[] {
  const heaviest = heaviestEmptyLb(
    Math.max(rules.grossLimitLb, ...units.map(({ grossLimitLb }) => grossLimitLb ?? 0)),
    rules,
  )
  const unitById = new Map(units.map((unit) => [unit.unitId, unit]))
  let query = db
    .selectFrom('ticket as t')
    .innerJoin('ticket_weight as w', 'w.ticket_id', 't.id')
    .groupBy('t.id')
    .select(({ fn }) => [
      't.id',
      't.weighed_at',
      't.scale_id',
      't.gross_lb',
      sql<string>`group_concat(w.unit_id, ' ')`.as('units'),
      fn.sum<number | null>('w.weight_lb').as('sum_lb'),
      fn.count<number>('w.group_id').as('groups'),
      sql<number>`(select count(*) from ticket_together as b where b.ticket_id = t.id)`.as('together'),
      sql<number>`(select ifnull(sum(b.weight_lb), 0) from ticket_together as b where b.ticket_id = t.id)`.as(
        'both_lb',
      ),
    ])
    .where('t.weighed_at', '<=', toStoredInstant(untilMs))
    .where(({ or, eb }) => or([eb('t.gross_lb', 'is', null), eb('t.gross_lb', '<=', heaviest)]))
    .orderBy('t.id')
  if (unitIds) {
    const own = db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', unitIds)
    const partners = db.selectFrom('ticket_weight').select('unit_id').where('ticket_id', 'in', own)
    query = query.where(
      't.id',
      'in',
      db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', partners),
    )
  }
  type Row = [number, string, number, number | null, string, number | null, number, number, number]
  const tickets: TareTicket[] = []
  for (const [ticketId, weighedAt, scaleId, grossLb, unitText, aloneLb, alone, together, bothLb] of walk<Row>(
    raw,
    query,
  )) {
    const own = [...new Set(unitText.split(' ').map(Number))]
    const isComplete = isCompleteTicket(
      own.map((unitId) => unitById.get(unitId)),
      { alone, together },
    )
    const total = grossLb ?? (isComplete ? (aloneLb ?? 0) + bothLb : null)
    if (total !== null && total <= heaviest)
      tickets.push({ ticketId, weighedAt: fromStoredInstant(weighedAt), scaleId, unitIds: own, grossLb: total })
  }
  return tickets
}

type UnitDraft = UnitToWeigh & { readonly groups: UnitToWeigh['groups'][number][] }

/** Units with their axle groups where they stand, front to back. */
export function listUnitsToWeigh({ db, raw }: Store, unitIds?: readonly number[]): UnitToWeigh[] {
  let query = db
    .selectFrom('unit as u')
    .leftJoin('axle_group as g', 'g.unit_id', 'u.id')
    .select([
      'u.id',
      'u.number',
      'u.kind',
      'u.gross_limit_lb',
      'u.fifth_wheel_ft',
      'g.id as group_id',
      'g.name',
      'g.role',
      'g.axles',
      'g.axle_spacing_ft',
      'g.limit_lb',
      'g.first_axle_ft',
      'g.measured_by',
    ])
    .orderBy('u.id')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('g.id')
  if (unitIds) query = query.where('u.id', 'in', unitIds)
  type Row = [
    number,
    string,
    UnitKind,
    number | null,
    number | null,
    number | null,
    string,
    GroupRole,
    number,
    number | null,
    number | null,
    number | null,
    Measure | null,
  ]
  const units: UnitDraft[] = []
  for (const [
    unitId,
    unit,
    kind,
    grossLimitLb,
    fifthWheelFt,
    groupId,
    group,
    role,
    axles,
    axleSpacingFt,
    limitLb,
    firstAxleFt,
    measuredBy,
  ] of walk<Row>(raw, query)) {
    let current = units.at(-1)
    if (current?.unitId !== unitId) {
      current = { unitId, unit, kind, grossLimitLb, fifthWheelFt, groups: [] }
      units.push(current)
    }
    if (groupId !== null)
      current.groups.push({ groupId, group, role, axles, axleSpacingFt, limitLb, firstAxleFt, measuredBy })
  }
  return units
}

/**
 * What the record until a moment (ms UTC) teaches about the fleet's pressures, scales and steer weights. Takes seconds
 * for a large fleet: run it off the window's thread.
 */
export function learnFromRecord(store: Store, rules: HouseRules, untilMs: number): Omit<FleetFigures, 'cellLaws'> {
  return {
    estimates: learnEstimates(openTeachers(store, untilMs), rules),
    steerScatterLb: learnSteerScatterLb(store, listUnitsToWeigh(store), rules, untilMs),
    heardUntil: heardUntil(store, untilMs),
  }
}

/** What weights rest on of all that the fleet taught. */
export type FiguresToWeigh = Pick<FleetFigures, 'estimates' | 'steerScatterLb'>

/** By what weights are judged. */
interface Known {
  /** Only what was known at a moment, ms UTC, such as `judgedAt`; left out, all on record, dated ahead or not. */
  readonly asOf?: number | undefined
  /** By what the fleet had taught by then too: for who asks about another day. */
  readonly asTaught?: boolean
  /** By what the fleet taught last, though more came in since: for who cannot wait until all of it is read again. */
  readonly asLearnt?: boolean
}

/**
 * What the fleet taught, as it was learnt last, or on the day that is asked about; from the record where that was never
 * done, or, unless that is good enough, where an import came since. Then it takes seconds for a large fleet.
 */
export async function readFiguresToWeigh(
  store: Store,
  { asOf, asTaught = false, asLearnt = false }: Known = {},
): Promise<FiguresToWeigh> {
  const rules = await readHouseRules(store.db)
  const until = asOf ?? everything
  if (asTaught) return (await readFiguresOfDay(store.db, until)) ?? learnFromRecord(store, rules, until)
  const learnt = await readFigures(store.db)
  return learnt && (asLearnt || !(await isFleetBehind(store.db, 'learn')))
    ? learnt.figures
    : learnFromRecord(store, rules, until)
}

/** Which facts: of some units; without the tare where only limits are asked about. */
export interface WantedFacts extends Known {
  readonly unitIds: readonly number[]
  readonly tare: boolean
  /** Where things stand, where the caller has read it already. */
  readonly places?: FleetPlaces | undefined
  /** What the fleet taught, where the caller has read it already. */
  readonly figures?: FiguresToWeigh
}

async function readFacts<R>(
  store: Store,
  { unitIds, tare, places, figures, ...known }: WantedFacts,
  recordOf: (extent: Extent) => R,
): Promise<Omit<WeighSource, 'record'> & { readonly record: R }> {
  const stated = await readHouseRules(store.db)
  const wanted = tare ? [...new Set([...unitIds, ...unitsBeside(store, unitIds)])] : unitIds
  const units = listUnitsToWeigh(store, wanted)
  const { estimates, steerScatterLb } = figures ?? (await readFiguresToWeigh(store, known))
  const rules = { ...stated, steerScatterLb }
  const untilMs = known.asOf ?? everything
  const own = new Set(unitIds)
  return {
    units,
    rules,
    estimates,
    record: recordOf({ untilMs, places, weighedOnly: true, unitIds }),
    steer: listSteerFacts(
      store,
      units.filter(({ unitId }) => own.has(unitId)),
      rules,
      untilMs,
    ),
    tickets: tare ? listTareTickets(store, units, rules, { unitIds, untilMs }) : [],
  }
}

/**
 * Everything that weighing needs, each group's history made when it is asked for. With units come those that lend them
 * their tare.
 */
export const readWeighSource = (store: Store, wanted: WantedFacts): Promise<WeighSource> =>
  readFacts(store, wanted, (extent) => openRecord(store, extent))

/** The same as plain data that a window can be sent. */
export const readWeighFacts = (store: Store, wanted: WantedFacts): Promise<WeighFacts> =>
  readFacts(store, wanted, (extent) => readRecord(store, extent))
