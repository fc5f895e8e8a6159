import { phrase } from '#core/words/phrase.ts'
import type { Trust } from '#core/findings/finding.ts'
import type { Reader } from '#core/store/open.ts'
import { frontToBack, placedCircuits, placedCalibrations, scaleTickets, placedGroups } from '#core/store/placed.ts'
import { TarelineError } from '#core/words/problem.ts'

/** The unit of a number with its yard, or undefined. */
export function findUnit(db: Reader, number: string) {
  return db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .selectAll('u')
    .select('y.name as yard')
    .where('u.number', '=', number)
    .executeTakeFirst()
}

/** The refusal of a unit number that the fleet does not have. */
export const noSuchUnit = (number: string) =>
  new TarelineError('no-such-unit', phrase('There is no unit {number}. Look for it on the Roster.', { number }))

/** The same as `findUnit`. Errors: TarelineError `no-such-unit`. */
export async function unitByNumber(db: Reader, number: string) {
  const unit = await findUnit(db, number)
  if (!unit) throw noSuchUnit(number)
  return unit
}

export function listCircuits(db: Reader, unitId: number) {
  return placedCircuits(db).selectAll('c').where('g.unit_id', '=', unitId).orderBy('c.id').execute()
}

/** Every sensor that sits or sat on the unit's circuits, newest mount first, with the cell put in last. */
export function listMountedSensors(db: Reader, unitId: number) {
  return db
    .selectFrom('mount as m')
    .innerJoin('sensor as s', 's.id', 'm.sensor_id')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .leftJoin('battery_change as b', (join) =>
      join.onRef('b.sensor_id', '=', 's.id').on('b.changed_at', '=', (eb) =>
        eb
          .selectFrom('battery_change as last')
          .whereRef('last.sensor_id', '=', 's.id')
          .select(({ fn }) => fn.max('last.changed_at').as('at')),
      ),
    )
    .select([
      'm.circuit_id',
      's.serial',
      's.reference',
      's.range_psi',
      's.resolution_psi',
      's.accuracy_psi',
      's.cell as usual_cell',
      's.report_every_s',
      'm.mounted_at',
      'm.removed_at',
      'b.changed_at',
      'b.cell',
    ])
    .where('g.unit_id', '=', unitId)
    .orderBy('m.mounted_at', 'desc')
    .execute()
}

/** Every calibration of the unit's groups, voided ones too, newest first. */
export function listCalibrations(db: Reader, unitId: number) {
  return placedCalibrations(db)
    .selectAll('k')
    .where('g.unit_id', '=', unitId)
    .orderBy('k.calibrated_at', 'desc')
    .orderBy('k.id', 'desc')
    .execute()
}

/** The names of the tickets and readings that the unit's calibration points rest on. */
export function listPointNames(db: Reader, unitId: number) {
  return db
    .selectFrom('calibration_point as p')
    .innerJoin('calibration as k', 'k.id', 'p.calibration_id')
    .innerJoin('axle_group as g', 'g.id', 'k.group_id')
    .innerJoin('ticket as t', 't.id', 'p.ticket_id')
    .innerJoin('scale as s', 's.id', 't.scale_id')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .select([
      'p.ticket_id',
      'p.reading_id',
      't.number as ticket',
      't.weighed_at',
      's.name as scale',
      'r.name as reading',
    ])
    .where('g.unit_id', '=', unitId)
    .execute()
}

export function listEvents(db: Reader, unitId: number) {
  return db
    .selectFrom('event as e')
    .leftJoin('axle_group as g', 'g.id', 'e.group_id')
    .leftJoin('circuit as c', 'c.id', 'e.circuit_id')
    .select(['g.name as group', 'c.name as circuit', 'e.happened_at', 'e.kind', 'e.note'])
    .where('e.unit_id', '=', unitId)
    .orderBy('e.happened_at', 'desc')
    .execute()
}

/** The pressures of the unit's newest readings, at most `limit` readings, newest first. */
export function listNewestReadings(db: Reader, unitId: number, limit: number) {
  return db
    .with('newest', (cte) =>
      cte
        .selectFrom('reading as r')
        .where('r.id', 'in', (eb) =>
          eb
            .selectFrom('reading_pressure as p')
            .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
            .innerJoin('axle_group as g', 'g.id', 'c.group_id')
            .where('g.unit_id', '=', unitId)
            .select('p.reading_id'),
        )
        .selectAll('r')
        .orderBy('r.taken_at', 'desc')
        .orderBy('r.id', 'desc')
        .limit(limit),
    )
    .selectFrom('newest as r')
    .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
    .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .leftJoin('ticket as t', 't.id', 'r.ticket_id')
    .leftJoin('scale as s', 's.id', 't.scale_id')
    .select([
      'r.id as reading_id',
      'r.name as reading',
      'r.taken_at',
      'r.lift',
      't.id as ticket_id',
      't.number as ticket',
      's.name as scale',
      'g.name as group',
      'c.name as circuit',
      'p.psi',
    ])
    .where('g.unit_id', '=', unitId)
    .orderBy('r.taken_at', 'desc')
    .orderBy('r.id', 'desc')
    .orderBy('c.id')
    .execute()
}

/** The tickets of a unit by id, with their scales, for naming its checks. */
export function listTicketNames(db: Reader, unitId: number) {
  return scaleTickets(db)
    .select(['t.id', 't.number', 's.name as scale'])
    .where('t.id', 'in', (eb) => eb.selectFrom('ticket_weight').select('ticket_id').where('unit_id', '=', unitId))
    .execute()
}

/** The stored findings about a unit, worst first, under the names people use. */
export function listUnitFindings(db: Reader, unitId: number) {
  return db
    .selectFrom('finding as f')
    .leftJoin('axle_group as g', 'g.id', 'f.group_id')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .leftJoin('scale as s', 's.id', 'f.scale_id')
    .leftJoin('ticket as t', 't.id', 'f.ticket_id')
    .select([
      'f.id',
      'f.code',
      'f.severity',
      'f.since',
      'f.numbers',
      'f.variant',
      'f.facts',
      'g.name as group',
      'c.name as circuit',
      's.name as scale',
      't.number as ticket',
      't.id as ticketId',
    ])
    .where('f.unit_id', '=', unitId)
    .orderBy('f.id')
    .execute()
}

/** The axle groups of units, front to back, under the names people use. */
export function listUnitGroups(db: Reader, unitIds: readonly number[]) {
  return placedGroups(db)
    .select(['g.id', 'g.unit_id', 'g.name as group', 'g.role', 'u.number as unit', 'u.kind'])
    .where('g.unit_id', 'in', unitIds)
    .orderBy('g.unit_id')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('g.id')
    .execute()
}

/** What a cab card says of units besides their tables, in the order of their numbers. */
export function listCardUnits(db: Reader, numbers: readonly string[]) {
  return db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select([
      'u.id',
      'u.number',
      'u.kind',
      'u.make',
      'u.model',
      'u.model_year',
      'u.gross_limit_lb',
      'y.name as yard',
      'y.elevation_ft as yard_ft',
    ])
    .where('u.number', 'in', numbers)
    .orderBy('u.number')
    .execute()
}

/** Trust in the groups of units and the days they are due, by group, as the stored assessment has them. */
export async function readStandings(
  db: Reader,
  unitIds: readonly number[],
): Promise<Map<number, { readonly trust: Trust; readonly dueOn: string | null }>> {
  const rows = await db
    .selectFrom('group_standing')
    .select(['group_id', 'trust', 'due_on'])
    .where('unit_id', 'in', unitIds)
    .execute()
  return new Map(rows.map(({ group_id, trust, due_on }) => [group_id, { trust, dueOn: due_on }]))
}
