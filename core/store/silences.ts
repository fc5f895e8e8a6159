import type { SelectQueryBuilder } from 'kysely'
import { fewestSilentMs, silenceOf } from '#core/evidence/silence.ts'
import type { Store } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

/**
 * How far the fleet's readings reach at a moment (ms UTC): half of the sensors that were ever read have been since.
 * Where a record has not been brought up to date, that is where it ends, and nobody's sensor is silent for it. Readings
 * are met newest first, so that of a million only the last ones are read.
 */
export function heardUntil({ db, raw }: Store, asOf: number): number {
  const until = toStoredInstant(asOf)
  const everRead = db
    .selectFrom('mount as m')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select('m.circuit_id')
    .distinct()
    .where('u.service_state', '=', 'in service')
    .where('m.mounted_at', '<=', until)
    .where(({ or, eb }) => or([eb('m.removed_at', 'is', null), eb('m.removed_at', '>', until)]))
    .where(({ exists, selectFrom }) =>
      exists(
        selectFrom('reading_pressure as p')
          .innerJoin('reading as r', 'r.id', 'p.reading_id')
          .select('p.psi')
          .whereRef('p.circuit_id', '=', 'm.circuit_id')
          .where('r.taken_at', '<=', until),
      ),
    )
  const waiting = new Set(Array.from(walk<[number]>(raw, everRead), ([circuitId]) => circuitId))
  const half = Math.floor(waiting.size / 2)
  const newestFirst = db
    .selectFrom('reading as r')
    .innerJoin('reading_pressure as p', 'p.reading_id', 'r.id')
    .select(['p.circuit_id', 'r.taken_at'])
    .where('r.taken_at', '<=', until)
    .orderBy('r.taken_at', 'desc')
  if (waiting.size > 0)
    for (const [circuitId, takenAt] of walk<[number, string]>(raw, newestFirst))
      if (waiting.delete(circuitId) && waiting.size <= half) return fromStoredInstant(takenAt)
  return asOf
}

/**
 * Since when the sensors on circuits have been silent at a moment (ms UTC), by circuit: of all, or of some units. One
 * walk over the readings of those that were not heard of lately.
 */
export function readSilences(
  { db, raw }: Store,
  asOf: number,
  heard: number,
  unitIds?: readonly number[],
): Map<number, number> {
  const until = toStoredInstant(asOf)
  const lately = db
    .selectFrom('reading as n')
    .innerJoin('reading_pressure as q', 'q.reading_id', 'n.id')
    .select('q.circuit_id')
    .where('n.taken_at', '>=', toStoredInstant(heard - fewestSilentMs))
    .where('n.taken_at', '<=', until)
  const ofUnits =
    unitIds &&
    db
      .selectFrom('circuit as c')
      .innerJoin('axle_group as g', 'g.id', 'c.group_id')
      .select('c.id')
      .where('g.unit_id', 'in', unitIds)
  // The database keeps the order of a cross join: from the few circuits to their readings, never the other way round.
  const query = db
    .selectFrom('mount as m')
    .crossJoin('reading_pressure as p')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .whereRef('p.circuit_id', '=', 'm.circuit_id')
    .select(['m.circuit_id', 'm.mounted_at', 'r.taken_at'])
    .where('m.mounted_at', '<=', until)
    .where(({ or, eb }) => or([eb('m.removed_at', 'is', null), eb('m.removed_at', '>', until)]))
    .where('r.taken_at', '<=', until)
  const sensors = new Map<number, { mountedAt: number; readonly times: number[] }>()
  for (const [circuitId, mountedAt, takenAt] of walk<[number, string, string]>(
    raw,
    ofUnits ? query.where('m.circuit_id', 'in', ofUnits) : query.where('m.circuit_id', 'not in', lately),
  )) {
    const known = sensors.get(circuitId) ?? { mountedAt: 0, times: [] }
    sensors.set(circuitId, known)
    known.mountedAt = Math.max(known.mountedAt, fromStoredInstant(mountedAt))
    known.times.push(fromStoredInstant(takenAt))
  }
  const silences = new Map<number, number>()
  for (const [circuitId, { mountedAt, times }] of sensors) {
    const silence = silenceOf(
      times.sort((p, q) => p - q),
      mountedAt,
      heard,
    )
    if (silence) silences.set(circuitId, silence.from)
  }
  return silences
}

/** What a swap of a cell is known by: the sensor's id, and when it was made (stored instant). */
export const swapKey = (sensorId: number, changedAt: string): string => `${sensorId} ${changedAt}`

/**
 * Since when sensors had been silent when their cells were swapped as dead, by `swapKey`, ms UTC: the rule of
 * `silenceOf` as it stood at the swap, on the circuit where the sensor sat then. sensorIds: a question that picks some
 * sensors; left out, all.
 */
export function readSilencesBeforeSwaps(
  { db, raw }: Store,
  asOf: number,
  heard: number,
  sensorIds?: SelectQueryBuilder<Schema, 'mount' | 'circuit' | 'axle_group', { sensor_id: number }>,
): Map<string, number> {
  const until = toStoredInstant(asOf)
  // As above: from the few swaps to the readings of their circuits.
  let query = db
    .selectFrom('battery_change as b')
    .innerJoin('mount as m', 'm.sensor_id', 'b.sensor_id')
    .crossJoin('reading_pressure as p')
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .whereRef('p.circuit_id', '=', 'm.circuit_id')
    .select(['b.sensor_id', 'b.changed_at', 'm.mounted_at', 'r.taken_at'])
    .where('b.reason', '=', 'dead')
    .where('b.changed_at', '<=', until)
    .whereRef('m.mounted_at', '<=', 'b.changed_at')
    .where(({ or, eb }) => or([eb('m.removed_at', 'is', null), eb('m.removed_at', '>=', eb.ref('b.changed_at'))]))
    .whereRef('r.taken_at', '<', 'b.changed_at')
  if (sensorIds) query = query.where('b.sensor_id', 'in', sensorIds)
  const swaps = new Map<string, { readonly changedAt: number; mountedAt: number; readonly times: number[] }>()
  for (const [sensorId, changedAt, mountedAt, takenAt] of walk<[number, string, string, string]>(raw, query)) {
    const key = swapKey(sensorId, changedAt)
    const known = swaps.get(key) ?? { changedAt: fromStoredInstant(changedAt), mountedAt: 0, times: [] }
    swaps.set(key, known)
    known.mountedAt = Math.max(known.mountedAt, fromStoredInstant(mountedAt))
    known.times.push(fromStoredInstant(takenAt))
  }
  const silences = new Map<string, number>()
  for (const [key, { changedAt, mountedAt, times }] of swaps) {
    const silence = silenceOf(
      times.sort((p, q) => p - q),
      mountedAt,
      Math.min(changedAt, heard),
    )
    if (silence) silences.set(key, silence.from)
  }
  return silences
}
