import type { BridgeSet } from '#core/weight/bridge-sets.ts'
import type { SharedPart } from '#core/weight/error-rows.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'

/**
 * A bridge set of a combination of some shape: its axles and limit, and where it finds its weight: its groups by their places
 * in the plan, and the units they belong to.
 */
export interface SetLayout extends Pick<BridgeSet, 'firstAxle' | 'lastAxle' | 'axles' | 'lengthFt' | 'limitLb' | 'basis' | 'name'> {
  readonly parts: readonly SharedPart[]
  /** Places of the units, in coupling order. */
  readonly units: readonly number[]
  /** False where the set only repeats the limit of its one group, or the gross limit. */
  readonly isOwnLimit: boolean
}

const layouts = new WeakMap<readonly BridgeSet[], readonly SetLayout[]>()
/** A fleet has thousands of combinations and a few dozen shapes of them: one list a shape stays at hand in the processor's cache. */
const shapes = new Map<string, readonly SetLayout[]>()
const mostShapes = 1000

/** The layouts of a combination's bridge sets, worked out once a list of sets. */
export function setLayouts({ units, plan: { groups } }: ReadyCombination, sets: readonly BridgeSet[]): readonly SetLayout[] {
  const known = layouts.get(sets)
  if (known) return known
  const placeOf = new Map(groups.map(({ place }, i) => [place.groupId, i]))
  const unitPlace = new Map(units.map(({ unitId }, i) => [unitId, i]))
  const made = sets.map(({ shares, firstAxle, lastAxle, axles, lengthFt, limitLb, basis, name }): SetLayout => {
    const parts = shares.map(({ groupId, share }) => ({ place: placeOf.get(groupId) as number, share }))
    return {
      firstAxle, lastAxle, axles, lengthFt, limitLb, basis, name, parts,
      units: [...new Set(parts.map(({ place }) => unitPlace.get(groups[place]?.unitId as number) as number))],
      isOwnLimit: shares.length > 1 && basis !== 'gross limit',
    }
  })
  const shape = JSON.stringify(made)
  const shared = shapes.get(shape) ?? made
  if (shapes.size >= mostShapes) shapes.clear()
  shapes.set(shape, shared)
  layouts.set(sets, shared)
  return shared
}
