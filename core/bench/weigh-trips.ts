import type { WeighingOffer } from '#core/findings/weigh-next.ts'
import type { Load, WhyWeigh } from '#core/words/sentences/weigh-next.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** What one weighing would teach of one group of a unit. */
export interface GroupOffer extends WeighingOffer {
  readonly group: string
  readonly unitId: number
  readonly unit: string
  readonly yard: string | null
}

/** What a trip would teach of one group: standard uncertainties at its limit, lb. */
export interface GroupLesson {
  readonly group: string
  readonly lift: LiftState | null
  readonly uNowLb: number
  readonly uAfterLb: number
  /** Share of its tolerance. */
  readonly regained: number
  readonly why: WhyWeigh
}

/** One trip of a unit to a scale, which weighs all its groups. */
export interface WeighTrip {
  readonly unitId: number
  readonly unit: string
  readonly yard: string | null
  readonly load: Load
  readonly scaleId: number
  /** Of all its groups together. */
  readonly regained: number
  /** Whether it is worth sending the unit for, by one of its groups at least. */
  readonly isWorthTrip: boolean
  /** What it teaches most of first. */
  readonly lessons: readonly GroupLesson[]
}

/** The trip of one unit that teaches most of all its groups together. */
function bestTrip(offers: readonly GroupOffer[]): WeighTrip {
  type Draft = Omit<WeighTrip, 'lessons'> & { lessons: GroupLesson[]; regained: number; isWorthTrip: boolean }
  const trips = new Map<string, Draft>()
  for (const { group, unitId, unit, yard, lift, uNowLb, weighings } of offers) {
    for (const { load, scaleId, uAfterLb, regained, why, isWorthTrip } of weighings) {
      const key = `${load} ${scaleId}`
      const trip = trips.get(key) ?? { unitId, unit, yard, load, scaleId, regained: 0, isWorthTrip: false, lessons: [] }
      trip.regained += regained
      trip.isWorthTrip ||= isWorthTrip
      trip.lessons.push({ group, lift, uNowLb, uAfterLb, regained, why })
      trips.set(key, trip)
    }
  }
  const best = [...trips.values()].reduce((a, b) => (b.regained > a.regained ? b : a))
  return { ...best, lessons: best.lessons.sort((a, b) => b.regained - a.regained) }
}

/**
 * The trips to the scale that teach most, one a unit, by how much of their tolerance the groups regain. offers: each
 * with at least one weighing.
 */
export function weighTrips(offers: readonly GroupOffer[], most: number): WeighTrip[] {
  const byUnit = Map.groupBy(offers, ({ unitId }) => unitId)
  return Array.from(byUnit.values(), bestTrip)
    .sort((a, b) => b.regained - a.regained || a.unitId - b.unitId)
    .slice(0, most)
}
