import type { CalibrationFacts, GroupFacts, Observation } from '#core/fleet/history.ts'
import { fromStoredInstant } from '#core/fleet/instant.ts'
import type { LiftState } from '#core/fleet/vocabulary.ts'
import { walk } from '#core/store/bulk.ts'
import type { Store } from '#core/store/open.ts'

/** Looks up one pressure, or one weight of a group on a ticket; null where there is none. */
function lookups({ db, raw }: Store) {
  const psi = raw
    .prepare(
      db.selectFrom('reading_pressure').select('psi').where('reading_id', '=', 0).where('circuit_id', '=', 0).compile()
        .sql,
    )
    .pluck()
  const weight = raw
    .prepare(
      db
        .selectFrom('ticket_weight')
        .select('weight_lb')
        .where('ticket_id', '=', 0)
        .where('unit_id', '=', 0)
        .where('group_id', '=', 0)
        .compile().sql,
    )
    .pluck()
  return {
    psi: (readingId: number, circuitId: number) => (psi.get(readingId, circuitId) as number | undefined) ?? null,
    weightLb: (ticketId: number, { unitId, groupId }: GroupFacts) =>
      (weight.get(ticketId, unitId, groupId) as number | null | undefined) ?? null,
  }
}

type PointRow = [
  calibrationId: number,
  groupId: number,
  calibratedAt: string,
  calibratedBy: string | null,
  ticketId: number,
  readingId: number,
  takenAt: string,
  elevationFt: number | null,
  lift: LiftState | null,
  scaleId: number,
  scaleFt: number | null,
]

/**
 * The calibrations of groups, by group and in the order of time, with their points alone: a fleet has a hundred
 * readings for every point. A point whose elevation was not noted was taken where its ticket's scale stands.
 */
export function readPointCalibrations(
  store: Store,
  groups: readonly GroupFacts[],
  unitIds: readonly number[] | undefined,
): Map<number, CalibrationFacts[]> {
  const { db, raw } = store
  const groupOf = new Map(groups.map((group) => [group.groupId, group]))
  let query = db
    .selectFrom('calibration as k')
    .innerJoin('calibration_point as p', 'p.calibration_id', 'k.id')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .innerJoin('ticket as t', 't.id', 'p.ticket_id')
    .innerJoin('scale as s', 's.id', 't.scale_id')
    .where('k.voided_at', 'is', null)
    .select([
      'k.id',
      'k.group_id',
      'k.calibrated_at',
      'k.calibrated_by',
      'p.ticket_id',
      'p.reading_id',
      'r.taken_at',
      'r.elevation_ft',
      'r.lift',
      't.scale_id',
      's.elevation_ft as scale_ft',
    ])
    .orderBy('k.group_id')
    .orderBy('k.calibrated_at')
    .orderBy('k.id')
    .orderBy('p.ticket_id')
    .orderBy('p.reading_id')
  if (unitIds) query = query.innerJoin('axle_group as g', 'g.id', 'k.group_id').where('g.unit_id', 'in', unitIds)
  const { psi, weightLb } = lookups(store)
  const calibrations = new Map<number, (CalibrationFacts & { readonly points: Observation[] })[]>()
  for (const [
    calibrationId,
    groupId,
    calibratedAt,
    calibratedBy,
    ticketId,
    readingId,
    takenAt,
    elevationFt,
    lift,
    scaleId,
    scaleFt,
  ] of walk<PointRow>(raw, query)) {
    const group = groupOf.get(groupId)
    if (!group) continue
    let own = calibrations.get(groupId)
    if (!own) {
      own = []
      calibrations.set(groupId, own)
    }
    let current = own.at(-1)
    if (current?.calibrationId !== calibrationId) {
      current = { calibrationId, calibratedAt: fromStoredInstant(calibratedAt), calibratedBy, points: [] }
      own.push(current)
    }
    const pressures = group.circuits.map(({ circuitId }) => psi(readingId, circuitId))
    if (pressures.every((pressure) => pressure === null)) continue
    // A ticket that did not weigh this group stays, without a weight: the calibration is refused for it.
    const weight = weightLb(ticketId, group)
    current.points.push({
      readingId,
      ticketId,
      psi: pressures,
      weightLb: weight,
      lift,
      takenAt: fromStoredInstant(takenAt),
      elevationFt: elevationFt ?? scaleFt,
      scaleId: weight === null ? null : scaleId,
    })
  }
  return calibrations
}
