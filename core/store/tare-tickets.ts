import { sql } from 'kysely'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { fromStoredInstant } from '#core/fleet/instant.ts'
import { walk } from '#core/store/bulk.ts'
import type { Store } from '#core/store/open.ts'
import type { TareTicket } from '#core/weight/tare.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'

/** Units that ever stood on a ticket with one of these. */
export function listPartners({ db, raw }: Store, unitIds: readonly number[]): number[] {
  const query = db
    .selectFrom('ticket_weight as own')
    .innerJoin('ticket_weight as other', 'other.ticket_id', 'own.ticket_id')
    .select('other.unit_id')
    .distinct()
    .where('own.unit_id', 'in', unitIds)
  return Array.from(walk<[number]>(raw, query), ([unitId]) => unitId)
}

/**
 * Axle groups that a ticket of a unit must carry for its weights to add up to gross; a power unit without a steer group
 * never does.
 */
function groupCounts(units: readonly UnitToWeigh[]): Map<number, number> {
  return new Map(
    units.map(({ unitId, kind, groups }) => [
      unitId,
      kind === 'trailer' || groups.some(({ role }) => role === 'steer') ? groups.length : Number.NaN,
    ]),
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
  unitIds?: readonly number[],
): TareTicket[] {
  const heaviest =
    Math.max(rules.grossLimitLb, ...units.map(({ grossLimitLb }) => grossLimitLb ?? 0)) *
    (rules.emptyTicketPercent / 100)
  const counts = groupCounts(units)
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
    ])
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
  type Row = [number, string, number, number | null, string, number | null, number]
  const tickets: TareTicket[] = []
  for (const [ticketId, weighedAt, scaleId, grossLb, unitText, sumLb, groups] of walk<Row>(raw, query)) {
    const own = [...new Set(unitText.split(' ').map(Number))]
    const isComplete = groups === own.reduce((sum, unitId) => sum + (counts.get(unitId) ?? Number.NaN), 0)
    const total = grossLb ?? (isComplete ? sumLb : null)
    if (total !== null && total <= heaviest)
      tickets.push({ ticketId, weighedAt: fromStoredInstant(weighedAt), scaleId, unitIds: own, grossLb: total })
  }
  return tickets
}
