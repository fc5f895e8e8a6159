import type { StoredValues } from '#core/fleet/change.ts'
import type { TypedSubject } from '#core/fleet/record-fields.ts'
import type { EventKind } from '#core/fleet/vocabulary.ts'

/** Columns that describe the vehicle, with the work that changes them: after it a calibration line no longer holds. */
const workBehind: Partial<Record<TypedSubject, Readonly<Record<string, EventKind>>>> = {
  circuit: { ride_height_in: 'height set', air_springs: 'spring replaced', spring_area_in2: 'spring replaced' },
  'axle group': { role: 'axle work', axles: 'axle work', axle_spacing_ft: 'axle work', first_axle_ft: 'axle work' },
}

/**
 * The work on the vehicle that a change of its record tells of, which breaks the line; null where none does. Filling in
 * what was unknown tells of none. When several columns change, the springs come before the height, which is set after
 * them.
 */
export function lineBreakingWork(subject: TypedSubject, was: StoredValues, now: StoredValues): EventKind | null {
  const kinds = Object.entries(workBehind[subject] ?? {}).flatMap(([column, kind]) =>
    (was[column] ?? null) !== null && column in now && was[column] !== now[column] ? [kind] : [],
  )
  return kinds.find((kind) => kind === 'spring replaced') ?? kinds[0] ?? null
}
