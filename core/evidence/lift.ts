import type { LiftState } from '#core/words/vocabulary.ts'

/** The lift state in which a set of points was taken; null when none of them says, 'both' when they disagree. */
export type LiftOfPoints = 'raised' | 'lowered' | 'both' | null

const isStated = (lift: LiftState | null): lift is 'raised' | 'lowered' => lift === 'raised' || lift === 'lowered'

export function liftOfPoints(lifts: readonly (LiftState | null)[]): LiftOfPoints {
  const stated = new Set(lifts.filter(isStated))
  if (stated.size > 1) return 'both'
  return stated.values().next().value ?? null
}

/**
 * Whether a line taken in one lift state holds in another: raised and lowered exclude each other, unknown and none fit
 * either.
 */
export function liftFits(points: LiftOfPoints, lift: LiftState | null): boolean {
  return points === null || !isStated(lift) || points === lift
}
