import type { Change } from '#core/fleet/change.ts'
import type { BatteryReason } from '#core/fleet/vocabulary.ts'
import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'

/** A sensor as its swap needs it: where it sits now and its newest change. */
export interface SwapSensor {
  readonly id: number
  readonly serial: string
  readonly cell: string | null
  /** null: it is not mounted. */
  readonly unitId: number | null
  /** Stored instant; null: none is recorded. */
  readonly lastChangedAt: string | null
  readonly mountedAt: string | null
}

/** The sensors of some serials, at most 5,000; a serial that is not known has none. */
export async function findSwapSensors(db: Reader, serials: readonly string[]): Promise<SwapSensor[]> {
  const rows = await db
    .selectFrom('sensor as s')
    .leftJoin('mount as m', (join) => join.onRef('m.sensor_id', '=', 's.id').on('m.removed_at', 'is', null))
    .leftJoin('circuit as c', 'c.id', 'm.circuit_id')
    .leftJoin('axle_group as g', 'g.id', 'c.group_id')
    .select((eb) => [
      's.id',
      's.serial',
      's.cell',
      'g.unit_id',
      'm.mounted_at',
      eb
        .selectFrom('battery_change as b')
        .whereRef('b.sensor_id', '=', 's.id')
        .select(({ fn }) => fn.max('b.changed_at').as('last'))
        .as('last'),
    ])
    .where('s.serial', 'in', serials)
    .orderBy('m.mounted_at')
    .execute()
  // Of two open mountings, which is an issue of its own, the later one counts.
  return [
    ...new Map(
      rows.map(({ id, serial, cell, unit_id, mounted_at, last }) => [
        serial,
        { id, serial, cell, unitId: unit_id, lastChangedAt: last, mountedAt: mounted_at },
      ]),
    ).values(),
  ]
}

export interface Swap {
  readonly sensors: readonly SwapSensor[]
  /** Stored instant. */
  readonly changedAt: string
  readonly reason: BatteryReason
  /** null: the cell recorded for the sensor. */
  readonly cell: string | null
}

/** Records the swap of each sensor's cell, each taken down. */
export async function recordSwaps(
  db: Writer,
  { sensors, changedAt, reason, cell }: Swap,
  by: string,
  at: string,
): Promise<void> {
  const changes: Change[] = []
  for (const { id, serial, unitId, lastChangedAt } of sensors) {
    const { id: recordId } = await db
      .insertInto('battery_change')
      .values({ sensor_id: id, changed_at: changedAt, reason, cell })
      .returning('id')
      .executeTakeFirstOrThrow()
    changes.push({
      unitId,
      subject: 'battery',
      key: serial,
      action: 'swapped',
      recordId,
      ...(lastChangedAt === null ? {} : { old: { changed_at: lastChangedAt } }),
      new: { changed_at: changedAt, reason, cell },
    })
  }
  await recordChanges(db, { by, at }, changes)
}
