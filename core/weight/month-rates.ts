import { betaQuantileAt } from '#core/line/statistics.ts'
import { type HeavyCount, type HeavyRate, fleetRate, shrinkRate } from '#core/weight/heavy.ts'

/** A rate with the ends of its 95 % interval, 0 ≤ low ≤ rate ≤ high ≤ 1. */
export interface RateWithin {
  readonly rate: number
  readonly low: number
  readonly high: number
}

/** How a rate stands to an earlier one: sure only where the 95 % interval of their difference leaves 0 out. */
export const changes = ['more often', 'less often', 'no sure change'] as const
export type Change = (typeof changes)[number]

/** How a rate stands to the fleet's: sure only where its 95 % interval leaves the fleet's out. */
export const standings = ['worse than the fleet', 'better than the fleet', 'no sure difference'] as const
export type StandingToFleet = (typeof standings)[number]

/** The middle 95 % of a true rate that is spread as a beta distribution, made to hold the rate that is told. */
function within(rate: number, alpha: number, beta: number): RateWithin {
  const [low, high] = [0.025, 0.975].map((p) => betaQuantileAt(p, alpha, beta)) as [number, number]
  return { rate, low: Math.min(low, rate), high: Math.max(high, rate) }
}

/**
 * The rate of a whole count, as counted, with the interval of its posterior under Jeffreys' prior, half a count to
 * either side, so that a clean month is not known to be clean for certain. undefined of no weighing.
 *
 * Source: Brown, Cai and DasGupta, Stat. Sci. 16 (2001) 101, section 3.1.3 (from memory), which also sets the end to 0
 * where nothing, and to 1 where everything, was heavy.
 */
export function countedRate({ heavy, weighings }: Omit<HeavyCount<unknown>, 'id'>): RateWithin | undefined {
  if (weighings === 0) return undefined
  return within(heavy / weighings, heavy + 0.5, weighings - heavy + 0.5)
}

/** A rate drawn towards the fleet's, with the interval of its posterior, Beta(r w, (1 - r) w) of w weighings' worth. */
export const drawnRate = ({ shrunkRate, worth }: HeavyRate<unknown>): RateWithin =>
  within(shrunkRate, shrunkRate * worth, (1 - shrunkRate) * worth)

/**
 * What became of a rate since an earlier one, by the interval of their difference d: from
 * d - √((r₁ - l₁)² + (h₂ - r₂)²)  to  d + √((h₁ - r₁)² + (r₂ - l₂)²).
 *
 * Source: Zou and Donner, Stat. Med. 27 (2008) 1693 (from memory).
 */
export function changeOf(now: RateWithin, before: RateWithin): Change {
  const difference = now.rate - before.rate
  if (difference > Math.hypot(now.rate - now.low, before.high - before.rate)) return 'more often'
  return -difference > Math.hypot(now.high - now.rate, before.rate - before.low) ? 'less often' : 'no sure change'
}

/** Where a rate stands to the one of the fleet. */
export function standingTo(fleet: number, { low, high }: RateWithin): StandingToFleet {
  if (low > fleet) return 'worse than the fleet'
  return high < fleet ? 'better than the fleet' : 'no sure difference'
}

/** The rates of one month, each drawn towards that month's fleet, by id. */
export function monthRates<Id>(counts: readonly HeavyCount<Id>[]): Map<Id, HeavyRate<Id>> {
  const weighed = counts.filter(({ weighings }) => weighings > 0)
  if (weighed.length === 0) return new Map()
  const fleet = fleetRate(weighed)
  return new Map(weighed.map((count) => [count.id, shrinkRate(count, fleet)]))
}
