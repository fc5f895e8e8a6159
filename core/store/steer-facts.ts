import type { HouseRules } from '#core/fleet/house-rules.ts'
import { fromStoredInstant } from '#core/fleet/instant.ts'
import type { LiftState } from '#core/fleet/vocabulary.ts'
import { walk } from '#core/store/bulk.ts'
import { readScales } from '#core/store/histories.ts'
import type { Store } from '#core/store/open.ts'
import { fifthWheelStatics, type FifthWheelStatics } from '#core/weight/fifth-wheel.ts'
import { groupLimitLb } from '#core/weight/group-limit.ts'
import type { SteerFacts, SteerTicket } from '#core/weight/steer.ts'
import { fleetSteerScatterLb } from '#core/weight/steer-scatter.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'

/** Tractors whose tickets tell by how much the fleet's steer weights scatter: an even choice of them. */
const mostTeachers = 300

/** The lift state of a ticket: that of its reading, or as a lift axle's weight on it tells. */
const liftOfTicket = (noted: LiftState | null, onLiftLb: number | null): LiftState | null =>
  noted ?? (onLiftLb === null ? null : onLiftLb > 0 ? 'lowered' : 'raised')

/**
 * Tickets that carry the steer and the drive weight of a unit whose steer group has no circuit, by unit, in the order
 * of time.
 */
function listSteerTickets({ db, raw }: Store, unitIds: readonly number[]): Map<number, SteerTicket[]> {
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
    ])
    .where('gs.role', '=', 'steer')
    .where('gs.unit_id', 'in', unitIds)
    .where('ws.weight_lb', '>', 0)
    .where('wd.weight_lb', '>', 0)
    .orderBy('t.weighed_at')
    .orderBy('t.id')
  type Row = [number, string, number, number, number, LiftState | null, number | null]
  const tickets = new Map<number, SteerTicket[]>()
  for (const [unitId, weighedAt, scaleId, steerLb, driveLb, lift, liftLb] of walk<Row>(raw, query)) {
    const ticket = {
      weighedAt: fromStoredInstant(weighedAt),
      scaleId,
      steerLb,
      driveLb,
      lift: liftOfTicket(lift, liftLb),
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

/** What is known of the steer weights of those units whose steer weight is estimated. */
export function listSteerFacts(
  store: Store,
  units: readonly UnitToWeigh[],
  rules: HouseRules,
): (SteerFacts & { readonly unitId: number })[] {
  const estimated = units.filter(isEstimated)
  const tickets = new Map<number, SteerTicket[]>()
  for (let start = 0; start < estimated.length; start += idsAtOnce) {
    const ids = estimated.slice(start, start + idsAtOnce).map(({ unitId }) => unitId)
    for (const [unitId, own] of listSteerTickets(store, ids)) tickets.set(unitId, own)
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
export function learnSteerScatterLb(store: Store, units: readonly UnitToWeigh[], rules: HouseRules): number {
  const estimated = units.filter(isEstimated)
  const step = Math.max(1, Math.ceil(estimated.length / mostTeachers))
  const scales = readScales(store)
  return fleetSteerScatterLb(
    listSteerFacts(
      store,
      estimated.filter((_, i) => i % step === 0),
      rules,
    ),
    (scaleId) => scales.get(scaleId),
    rules,
  )
}
