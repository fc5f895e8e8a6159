import type { Reader } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'

/** The files of a fleet folder whose records happen at a time, with where it is stored. */
export const dated = {
  mounts: { table: 'mount', column: 'mounted_at' },
  batteryChanges: { table: 'battery_change', column: 'changed_at' },
  tickets: { table: 'ticket', column: 'weighed_at' },
  readings: { table: 'reading', column: 'taken_at' },
  calibrations: { table: 'calibration', column: 'calibrated_at' },
  events: { table: 'event', column: 'happened_at' },
} as const
export type DatedFile = keyof typeof dated

/** What is dated after the earlier of two moments (ms UTC), and not after the later one. */
function between(db: Reader, one: number, other: number) {
  const after = toStoredInstant(Math.min(one, other))
  const until = toStoredInstant(Math.max(one, other))
  const from = db.selectFrom.bind(db)
  return {
    tickets: from('ticket').select('id').where('weighed_at', '>', after).where('weighed_at', '<=', until),
    readings: from('reading').select('id').where('taken_at', '>', after).where('taken_at', '<=', until),
    calibrations: from('calibration').where('calibrated_at', '>', after).where('calibrated_at', '<=', until),
    events: from('event').where('happened_at', '>', after).where('happened_at', '<=', until),
    mounts: from('mount').where('mounted_at', '>', after).where('mounted_at', '<=', until),
  }
}

/** Whether anything that weights rest on is dated between two moments, ms UTC. */
export async function isAnythingDated(db: Reader, one: number, other: number): Promise<boolean> {
  const { tickets, readings, calibrations, events, mounts } = between(db, one, other)
  for (const found of [
    await tickets.limit(1).execute(),
    await readings.limit(1).execute(),
    await calibrations.select('id').limit(1).execute(),
    await events.select('id').limit(1).execute(),
    await mounts.select('id').limit(1).execute(),
  ])
    if (found.length > 0) return true
  return false
}

/** Whether any load is dated after a moment, ms UTC. */
export async function isAnyLoadAhead(db: Reader, asOf: number): Promise<boolean> {
  const after = toStoredInstant(asOf)
  const ticket = await db.selectFrom('ticket').select('id').where('weighed_at', '>', after).limit(1).execute()
  const reading = await db.selectFrom('reading').select('id').where('taken_at', '>', after).limit(1).execute()
  return ticket.length + reading.length > 0
}

/** What counts at one of two moments (ms UTC) and not at the other: whose weights rest on it. */
export interface DatedBetween {
  readonly weigh: ReadonlySet<number>
  /** Readings without a ticket, which change no other weight. */
  readonly readings: readonly number[]
}

export async function datedBetween(db: Reader, one: number, other: number): Promise<DatedBetween> {
  const { tickets, readings, calibrations, events, mounts } = between(db, one, other)
  // A reading that belongs to a ticket is weighed with it.
  const onTickets = tickets.union(
    db
      .selectFrom('reading')
      .select('ticket_id as id')
      .where('id', 'in', readings)
      .where('ticket_id', 'is not', null)
      .$castTo<{ id: number }>(),
  )
  const readWith = db.selectFrom('reading').select('id').where('ticket_id', 'in', onTickets)
  const units = await db
    .selectFrom('ticket_weight')
    .select('unit_id')
    .where('ticket_id', 'in', onTickets)
    .union(db.selectFrom('reading_unit').select('unit_id').where('reading_id', 'in', readWith))
    .union(
      db
        .selectFrom('reading_pressure as p')
        .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
        .innerJoin('axle_group as g', 'g.id', 'c.group_id')
        .select('g.unit_id')
        .where('p.reading_id', 'in', readWith),
    )
    .union(db.selectFrom('axle_group as g').select('g.unit_id').where('g.id', 'in', calibrations.select('group_id')))
    .union(events.select('unit_id'))
    .union(
      db
        .selectFrom('circuit as c')
        .innerJoin('axle_group as g', 'g.id', 'c.group_id')
        .select('g.unit_id')
        .where('c.id', 'in', mounts.select('circuit_id')),
    )
    .execute()
  const lone = await db
    .selectFrom('reading')
    .select('id')
    .where('id', 'in', readings)
    .where('ticket_id', 'is', null)
    .execute()
  return { weigh: new Set(units.map(({ unit_id }) => unit_id)), readings: lone.map(({ id }) => id) }
}
