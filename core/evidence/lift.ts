import type { LiftState } from '#core/words/vocabulary.ts'

/** The lift state in which a set of points was taken; null when none of them says, 'both' when they disagree. */
export type LiftOfPoints = 'raised' | 'lowered' | 'both' | null

/** The two states that exclude each other. */
export const statedLifts = ['raised', 'lowered'] as const

const isStated = (lift: LiftState | null): lift is 'raised' | 'lowered' => lift === 'raised' || lift === 'lowered'

export function liftOfPoints(lifts: readonly (LiftState | null)[]): LiftOfPoints {
  const stated = new Set(lifts.filter(isStated))
  if (stated.size > 1) return 'both'
  return stated.values().next().value ?? null
}

/**
 * Whether a line taken in one lift state holds in another: raised and lowered exclude each other, unknown and none fit
 * either. A line whose points mix both holds in none: it is the line of no state.
 */
export function liftFits(points: LiftOfPoints, lift: LiftState | null): boolean {
  if (points === 'both') return false
  return points === null || !isStated(lift) || points === lift
}

/** Whether two lines can weigh the same reading, so that the later takes over from the earlier. */
export const liftsMeet = (one: LiftOfPoints, other: LiftOfPoints): boolean =>
  statedLifts.some((lift) => liftFits(one, lift) && liftFits(other, lift))

/**
 * The lift state that counts for one unit of a combination: what was noted, unless the lift axle is another unit's. A
 * trailer's lift axle moves load within the trailer and says nothing of the tractor's lines. Where no unit has one on
 * record, what was noted counts for all.
 */
export const liftOfUnit = (noted: LiftState | null, hasLift: boolean, othersHaveLift: boolean): LiftState | null =>
  othersHaveLift && !hasLift ? null : noted

/** The lift state of a ticket: as its reading notes it, else as the weight of a lift axle on it tells, lb. */
export const liftOfTicket = (noted: LiftState | null, onLiftLb: number | null): LiftState | null =>
  noted ?? (onLiftLb === null ? null : onLiftLb > 0 ? 'lowered' : 'raised')
