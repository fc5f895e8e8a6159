import { type LimitRules, bridgeLimitLb } from '#core/evidence/limits.ts'
import type { PlacedAxle, Ruler } from '#core/weight/ruler.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { at } from '#core/words/lists.ts'

/**
 * Axles whose centres lie within this many feet count as one axle, and within the second as a tandem (23 CFR 658.5;
 * from memory).
 */
const singleAxleFt = 40 / 12
const tandemFt = 96 / 12
const twoTandemsFt = 36

/** Which rule gives a set its limit. */
export type BridgeBasis = 'single axle' | 'tandem' | 'bridge formula' | 'axle cap' | 'two tandems' | 'gross limit'

/** A set of two or more consecutive axles with its limit. */
export interface BridgeSet {
  /** Axles counted from 1 at the front: of the combination where all of it is placed, otherwise of the stretch. */
  readonly firstAxle: number
  readonly lastAxle: number
  readonly firstGroupId: number
  readonly lastGroupId: number
  readonly axles: number
  /** Between the centres of the outer axles, ft, as recorded; the formula takes it to the nearest foot. */
  readonly lengthFt: number
  readonly limitLb: number
  readonly basis: BridgeBasis
  /** outer bridge: all axles; inner bridge: all behind the first; only where the whole combination is placed. */
  readonly name: 'outer bridge' | 'inner bridge' | null
  /** How much of each group stands on the set: a half when one axle of its two is among them. */
  readonly shares: readonly { readonly groupId: number; readonly share: number }[]
}

/** Positions are sums of recorded feet and inches; a hair of rounding must not turn 36 ft into less. */
const distanceFt = (front: PlacedAxle, back: PlacedAxle): number =>
  Math.round((back.positionFt - front.positionFt) * 1e6) / 1e6

/** Two tandems in a row: axles 1-2 and 3-4 each within a tandem's length. */
function isTwoTandems(axles: readonly PlacedAxle[]): boolean {
  if (axles.length !== 4) return false
  const [first, second, third, fourth] = axles as [PlacedAxle, PlacedAxle, PlacedAxle, PlacedAxle]
  return distanceFt(first, second) <= tandemFt && distanceFt(third, fourth) <= tandemFt
}

function limitOf(
  axles: readonly PlacedAxle[],
  lengthFt: number,
  rules: LimitRules,
): { limitLb: number; basis: BridgeBasis } {
  const count = axles.length
  let limitLb = bridgeLimitLb(count, lengthFt, rules.singleAxleLimitLb)
  let basis: BridgeBasis = limitLb === rules.singleAxleLimitLb * count ? 'axle cap' : 'bridge formula'
  if (lengthFt <= singleAxleFt) {
    limitLb = rules.singleAxleLimitLb
    basis = 'single axle'
  } else if (lengthFt <= tandemFt) {
    limitLb = rules.tandemLimitLb
    basis = 'tandem'
  } else if (isTwoTandems(axles) && lengthFt >= twoTandemsFt && limitLb < 2 * rules.tandemLimitLb) {
    limitLb = 2 * rules.tandemLimitLb
    basis = 'two tandems'
  }
  return limitLb > rules.grossLimitLb ? { limitLb: rules.grossLimitLb, basis: 'gross limit' } : { limitLb, basis }
}

function sharesOf(axles: readonly PlacedAxle[], all: readonly PlacedAxle[]): BridgeSet['shares'] {
  const counts = new Map<number, number>()
  for (const { groupId } of axles) counts.set(groupId, (counts.get(groupId) ?? 0) + 1)
  return Array.from(counts, ([groupId, count]) => ({
    groupId,
    share: count / all.filter((axle) => axle.groupId === groupId).length,
  }))
}

/**
 * Every set of two or more consecutive axles of a combination, n(n-1)/2 where all axles are placed, with its limit in
 * lb:
 *   the bridge formula (see `bridgeLimitLb`); 34,000 within 8 ft;
 *   two consecutive tandems 36 ft or more apart 34,000 each;
 *   never more than 20,000 an axle nor than the gross limit. House Rules replace the 20,000, 34,000 and 80,000.
 *
 * Sets that would cross a gap of the ruler are left out; the ruler names the gap. A reckoner: the authority's table
 * decides.
 * Units: ft, lb. Errors: RangeError of `bridgeLimitLb` (more than 50 axles, longer than 500 ft).
 * Source: 23 U.S.C. 127(a)(2); 23 CFR 658.5 and 658.17 for axle and tandem (from memory).
 */
export function bridgeSets(ruler: Ruler, rules: LimitRules = defaultHouseRules): BridgeSet[] {
  const sets: BridgeSet[] = []
  const isWhole = ruler.stretches.length === 1 && ruler.stretches[0]?.axles.length === ruler.axles
  for (const { axles } of ruler.stretches) {
    const isNamed = isWhole && axles[0]?.unitId !== axles.at(-1)?.unitId
    for (let first = 0; first < axles.length - 1; first += 1) {
      for (let last = first + 1; last < axles.length; last += 1) {
        const set = axles.slice(first, last + 1)
        const front = axles[first] as PlacedAxle
        const back = axles[last] as PlacedAxle
        const lengthFt = distanceFt(front, back)
        const bridge = first === 0 ? 'outer bridge' : first === 1 ? 'inner bridge' : null
        sets.push({
          firstAxle: first + 1,
          lastAxle: last + 1,
          firstGroupId: front.groupId,
          lastGroupId: back.groupId,
          axles: set.length,
          lengthFt,
          ...limitOf(set, lengthFt, rules),
          name: isNamed && last === axles.length - 1 ? bridge : null,
          shares: sharesOf(set, axles),
        })
      }
    }
  }
  return sets
}

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
  const placeOf = (groupId: number) => groups.findIndex(({ place }) => place.groupId === groupId)
  const unitOf = (groupId: number) => units.findIndex(({ unitId }) => unitId === groups[placeOf(groupId)]?.unitId)
  // The axles of a group that are placed share its weight: a stretch holds all of them or none.
  const axles = ruler.stretches.flatMap((stretch) =>
    stretch.axles.map(
      ({ groupId }): AxleShare => ({
        place: placeOf(groupId),
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
        from: at(starts, i) + firstAxle - 1,
        to: at(starts, i) + lastAxle,
        units: [...new Set(shares.map(({ groupId }) => unitOf(groupId)))],
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
