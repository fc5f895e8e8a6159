import {
  type FleetCells,
  type LawsWanted,
  type MountedCell,
  type NamedSeat,
  type NextVisit,
  type SensorRecord,
  assessCells,
  cellsUnder,
} from '#core/cells/fleet-cells.ts'
import type { FleetFigures } from '#core/cells/fleet-figures.ts'
import type { CellChangeFacts, SensorMountFacts } from '#core/cells/lives.ts'
import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Store, Writer } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import { heardUntil, readSilences, readSilencesBeforeSwaps, swapKey } from '#core/store/silences.ts'
import { nextVisits } from '#core/store/visits.ts'
import type { Change } from '#core/words/change.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'

type OpenRecord = SensorRecord & {
  mounts: SensorMountFacts[]
  changes: CellChangeFacts[]
  seat: NamedSeat | null
  silentSince: number | null
}

/**
 * Every sensor, or those that ever sat on some units, with its mounts, its cell changes, its seat and since when it has
 * been silent, as known on a day (ms UTC): four walks, whatever the fleet's size. reach: how far the fleet's readings
 * do.
 */
export function readSensorRecords(
  store: Store,
  asOf: number,
  reach: number,
  unitIds?: readonly number[],
): SensorRecord[] {
  const { db, raw } = store
  const until = toStoredInstant(asOf)
  const records = new Map<number, OpenRecord>()
  const ofUnits =
    unitIds &&
    db
      .selectFrom('mount')
      .innerJoin('circuit', 'circuit.id', 'mount.circuit_id')
      .innerJoin('axle_group', 'axle_group.id', 'circuit.group_id')
      .select('mount.sensor_id')
      .where('axle_group.unit_id', 'in', unitIds)
  let sensorQuery = db.selectFrom('sensor').select(['id', 'serial', 'cell', 'report_every_s']).orderBy('serial')
  if (ofUnits) sensorQuery = sensorQuery.where('id', 'in', ofUnits)
  for (const [sensorId, serial, cell, reportEveryS] of walk<[number, string, string | null, number | null]>(
    raw,
    sensorQuery,
  )) {
    records.set(sensorId, {
      sensorId,
      serial,
      cell,
      reportEveryS,
      silentSince: null,
      mounts: [],
      changes: [],
      seat: null,
    })
  }
  let mountQuery = db
    .selectFrom('mount as m')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select([
      'm.sensor_id',
      'm.mounted_at',
      'm.removed_at',
      'c.id',
      'c.name',
      'g.id',
      'g.name',
      'u.id',
      'u.number',
      'u.yard_id',
      'u.service_state',
    ])
    .where('m.mounted_at', '<=', until)
    .orderBy('m.mounted_at')
    .orderBy('m.id')
  if (ofUnits) mountQuery = mountQuery.where('m.sensor_id', 'in', ofUnits)
  type MountRow = [number, string, string | null, number, string, number, string, number, string, number | null, string]
  for (const [
    sensorId,
    mountedAt,
    removedAt,
    circuitId,
    circuit,
    groupId,
    group,
    unitId,
    unit,
    yardId,
    state,
  ] of walk<MountRow>(raw, mountQuery)) {
    const record = records.get(sensorId) as OpenRecord
    record.mounts.push({
      mountedAt: fromStoredInstant(mountedAt),
      removedAt: removedAt === null ? null : fromStoredInstant(removedAt),
    })
    // Where it sits on two circuits at once, which is an issue, the later mounting counts.
    if (removedAt === null || removedAt > until)
      record.seat = { circuitId, circuit, groupId, group, unitId, unit, yardId, retired: state === 'retired' }
  }
  const beforeSwaps = readSilencesBeforeSwaps(store, asOf, reach, ofUnits)
  let changeQuery = db
    .selectFrom('battery_change')
    .select(['sensor_id', 'changed_at', 'reason', 'cell'])
    .where('changed_at', '<=', until)
  if (ofUnits) changeQuery = changeQuery.where('sensor_id', 'in', ofUnits)
  for (const [sensorId, changedAt, reason, cell] of walk<[number, string, string | null, string | null]>(
    raw,
    changeQuery,
  )) {
    records.get(sensorId)?.changes.push({
      changedAt: fromStoredInstant(changedAt),
      reason,
      cell,
      silentBefore: beforeSwaps.get(swapKey(sensorId, changedAt)) ?? null,
    })
  }
  const silences = readSilences(store, asOf, reach, unitIds)
  for (const record of records.values()) {
    // A retired unit stands still: nobody asks why it is silent.
    if (record.seat && !record.seat.retired) record.silentSince = silences.get(record.seat.circuitId) ?? null
  }
  return [...records.values()]
}

/**
 * The cells of some units, or of all, under laws that the whole fleet taught earlier; undefined where one of them has
 * no law yet.
 */
export function readUnitCells(
  store: Store,
  unitIds: readonly number[] | undefined,
  { cellLaws, heardUntil: reach }: Pick<FleetFigures, 'cellLaws' | 'heardUntil'>,
  rules: HouseRules,
  asOf: number,
): MountedCell[] | undefined {
  const planned = nextVisits(store, asOf, rules.zone)
  const sensors = readSensorRecords(store, asOf, reach, unitIds)
  return cellsUnder(cellLaws, sensors, rules, asOf, (unitId) => planned.get(unitId) ?? null)
}

interface Asked extends LawsWanted {
  /** Of a unit's next visit, later than asOf; the stored plan where it is left out. */
  readonly nextVisitAt?: NextVisit
  /** How far the fleet's readings reach, as it was learnt; looked up where it is left out. */
  readonly heardUntil?: number | undefined
}

/** The cells of the whole fleet as known on a day (ms UTC); about half a second for 25,000 sensors. */
export function readFleetCells(
  store: Store,
  rules: HouseRules,
  asOf: number,
  { nextVisitAt, heardUntil: reach = heardUntil(store, asOf), ...wanted }: Asked = {},
): FleetCells {
  const planned = nextVisitAt === undefined ? nextVisits(store, asOf, rules.zone) : undefined
  return assessCells(
    readSensorRecords(store, asOf, reach),
    rules,
    asOf,
    nextVisitAt ?? ((unitId) => planned?.get(unitId) ?? null),
    wanted,
  )
}

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

export interface Swaps {
  /** Each with why its old cell came out. */
  readonly swaps: readonly { readonly sensor: SwapSensor; readonly reason: BatteryReason }[]
  /** Stored instant. */
  readonly changedAt: string
  /** null: the cell recorded for the sensor. */
  readonly cell: string | null
}

/** Records the swap of each sensor's cell, each taken down. */
export async function recordSwaps(
  db: Writer,
  { swaps, changedAt, cell }: Swaps,
  by: string,
  at: string,
): Promise<void> {
  const changes: Change[] = []
  for (const { sensor, reason } of swaps) {
    const { id, serial, unitId, lastChangedAt } = sensor
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
