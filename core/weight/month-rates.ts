import { type HeavyCount, type HeavyRate, fleetRate, shrinkRate } from '#core/weight/heavy.ts'
import { expanded } from '#core/words/coverage.ts'

/** A rate with its standard uncertainty, 0 to 1. */
export interface RateWithU {
  readonly rate: number
  readonly u: number
}

/** How a rate stands to an earlier one: sure only where the 95 % interval of their difference leaves 0 out. */
export const changes = ['more often', 'less often', 'no sure change'] as const
export type Change = (typeof changes)[number]

/** How a rate stands to the fleet's: sure only where its 95 % interval leaves the fleet's out. */
export const standings = ['worse than the fleet', 'better than the fleet', 'no sure difference'] as const
export type StandingToFleet = (typeof standings)[number]

/**
 * The rate of a whole count, as counted, with the spread of its posterior under half a count of prior (Jeffreys), so
 * that a clean month is not known to be clean for certain. undefined of no weighing.
 */
export function countedRate({ heavy, weighings }: Omit<HeavyCount<unknown>, 'id'>): RateWithU | undefined {
  if (weighings === 0) return undefined
  const mean = (heavy + 0.5) / (weighings + 1)
  return { rate: heavy / weighings, u: Math.sqrt((mean * (1 - mean)) / (weighings + 2)) }
}

/** What became of a rate since an earlier one. */
export function changeOf(now: RateWithU, before: RateWithU): Change {
  const difference = now.rate - before.rate
  const reach = expanded(Math.hypot(now.u, before.u))
  if (difference - reach > 0) return 'more often'
  return difference + reach < 0 ? 'less often' : 'no sure change'
}

/** Where a rate stands to the one of the fleet. */
export function standingTo(fleet: number, { rate, u }: RateWithU): StandingToFleet {
  if (rate - expanded(u) > fleet) return 'worse than the fleet'
  return rate + expanded(u) < fleet ? 'better than the fleet' : 'no sure difference'
}

/** The rates of one month, each drawn towards that month's fleet, by id. */
export function monthRates<Id>(counts: readonly HeavyCount<Id>[]): Map<Id, HeavyRate<Id>> {
  const weighed = counts.filter(({ weighings }) => weighings > 0)
  if (weighed.length === 0) return new Map()
  const fleet = fleetRate(weighed)
  return new Map(weighed.map((count) => [count.id, shrinkRate(count, fleet)]))
}
