import type { BridgeSet } from '#core/weight/bridge-sets.ts'
import type { Ruler } from '#core/weight/combination.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'

/** An axle on the road: the place of its group in the plan, and its share of the group's weight. */
export interface AxleShare {
  readonly place: number
  readonly share: number
}

/** A bridge set of a combination of some shape. */
export interface SetLayout
  extends Pick<BridgeSet, 'firstAxle' | 'lastAxle' | 'axles' | 'lengthFt' | 'limitLb' | 'basis' | 'name'> {
  /** Its axles among those of the layout: from one place up to, not with, another. */
  readonly from: number
  readonly to: number
  /** Places of the units that have axles in it, in coupling order. */
  readonly units: readonly number[]
  /** False where the set only repeats the limit of its one group, or the gross limit. */
  readonly isOwnLimit: boolean
}

/** The bridge sets of a combination of some shape over its axles in a row. */
export interface BridgeLayout {
  readonly axles: readonly AxleShare[]
  readonly sets: readonly SetLayout[]
}

const layouts = new WeakMap<readonly BridgeSet[], BridgeLayout>()
/**
 * A fleet has thousands of combinations and a few dozen shapes of them: one layout a shape stays at hand in the
 * processor's cache.
 */
const shapes = new Map<string, BridgeLayout>()
const mostShapes = 1000

function layOut({ units, plan: { groups } }: ReadyCombination, ruler: Ruler, sets: readonly BridgeSet[]): BridgeLayout {
  const placeOf = new Map(groups.map(({ place }, i) => [place.groupId, i]))
  const unitPlace = new Map(units.map(({ unitId }, i) => [unitId, i]))
  // The axles of a group that are placed share its weight: a stretch holds all of them or none.
  const axles = ruler.stretches.flatMap((stretch) =>
    stretch.axles.map(
      ({ groupId }): AxleShare => ({
        place: placeOf.get(groupId) as number,
        share: 1 / stretch.axles.filter((axle) => axle.groupId === groupId).length,
      }),
    ),
  )
  // The sets come stretch by stretch, n (n - 1)/2 of each.
  const starts: number[] = []
  let start = 0
  for (const {
    axles: { length },
  } of ruler.stretches) {
    for (let i = 0; i < (length * (length - 1)) / 2; i += 1) starts.push(start)
    start += length
  }
  return {
    axles,
    sets: sets.map(
      ({ shares, firstAxle, lastAxle, axles: count, lengthFt, limitLb, basis, name }, i): SetLayout => ({
        firstAxle,
        lastAxle,
        axles: count,
        lengthFt,
        limitLb,
        basis,
        name,
        from: (starts[i] as number) + firstAxle - 1,
        to: (starts[i] as number) + lastAxle,
        units: [
          ...new Set(
            shares.map(
              ({ groupId }) => unitPlace.get(groups[placeOf.get(groupId) as number]?.unitId as number) as number,
            ),
          ),
        ],
        isOwnLimit: shares.length > 1 && basis !== 'gross limit',
      }),
    ),
  }
}

/** The layout of a combination's bridge sets, worked out once a list of sets. */
export function bridgeLayout(
  ready: ReadyCombination,
  { ruler, sets }: { readonly ruler: Ruler; readonly sets: readonly BridgeSet[] },
): BridgeLayout {
  const known = layouts.get(sets)
  if (known) return known
  const made = layOut(ready, ruler, sets)
  const shape = JSON.stringify(made)
  const shared = shapes.get(shape) ?? made
  if (shapes.size >= mostShapes) shapes.clear()
  shapes.set(shape, shared)
  layouts.set(sets, shared)
  return shared
}
