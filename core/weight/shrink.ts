/** How often a unit (or a driver, a yard) weighed heavy. heavy may be a sum of probabilities, 0 to weighings. */
export interface HeavyCount<Id> {
  readonly id: Id
  readonly heavy: number
  readonly weighings: number
}

export interface HeavyRate<Id> extends HeavyCount<Id> {
  /** heavy/weighings, as counted. */
  readonly rate: number
  /** Drawn towards the fleet's rate; what offenders are ranked by. */
  readonly shrunkRate: number
  /** Standard deviation of the true rate, given the counts. */
  readonly uShrunkRate: number
}

/** The fleet's own rate and how many weighings' worth it counts against a unit's own record. */
export interface FleetRate {
  readonly rate: number
  readonly weight: number
}

/** Fewer would let one heavy load of a rarely used truck stand at the top. */
const leastWeight = 2

/**
 * The fleet's rate and its weight M = α + β by the method of moments for beta-binomial counts. With n weighings in all,
 * m the pooled rate, S = Σ nᵢ (pᵢ - m)² and ρ = 1/(M + 1) the correlation of two weighings of one unit,
 *   E S = m (1 - m) [ρ (n - Σ nᵢ²/n) + (1 - ρ)(N - 1)],
 * solved for ρ. Where that gives none (one unit; no or only heavy weighings; less spread than chance alone) M is n: the
 * units do not differ as far as the counts tell. M is held between 2 and n. The pooled rate counts half a heavy
 * weighing more, of one more, so that a clean fleet's rate is small and not zero.
 *
 * Range: weighings > 0 and 0 ≤ heavy ≤ weighings, others are a caller's mistake (RangeError).
 * Source: moments of Kleinman, J. Am. Stat. Assoc. 68 (1973) 46, with weights nᵢ (from memory; the expectation is
 * derived here and tested by simulation); half a count: Jeffreys' prior.
 */
export function fleetRate(counts: readonly HeavyCount<unknown>[]): FleetRate {
  let heavy = 0
  let n = 0
  let squares = 0
  for (const count of counts) {
    if (!(count.weighings > 0 && count.heavy >= 0 && count.heavy <= count.weighings)) {
      throw new RangeError(`${count.heavy} heavy of ${count.weighings} weighings is not a count`)
    }
    heavy += count.heavy
    n += count.weighings
    squares += count.weighings * count.weighings
  }
  const rate = (heavy + 0.5) / (n + 1)
  const pooled = heavy / n
  let spread = 0
  for (const count of counts) spread += count.weighings * (count.heavy / count.weighings - pooled) ** 2
  const free = counts.length - 1
  const rho = (spread / (pooled * (1 - pooled)) - free) / (n - squares / n - free)
  const weight = Number.isFinite(rho) && rho > 0 ? 1 / rho - 1 : n
  return { rate, weight: Math.max(leastWeight, Math.min(weight, n)) }
}

/**
 * Draws one unit's rate towards the fleet's: the mean and standard deviation of its true rate under a beta prior with
 * the fleet's mean and weight M,  (m M + heavy)/(M + weighings),  √(r (1 - r)/(M + weighings + 1)).
 */
export function shrinkRate<Id>({ id, heavy, weighings }: HeavyCount<Id>, { rate, weight }: FleetRate): HeavyRate<Id> {
  const shrunkRate = (rate * weight + heavy) / (weight + weighings)
  return {
    id,
    heavy,
    weighings,
    rate: heavy / weighings,
    shrunkRate,
    uShrunkRate: Math.sqrt((shrunkRate * (1 - shrunkRate)) / (weight + weighings + 1)),
  }
}

/**
 * Worst offenders first, by the shrunk rate; a tie goes to the more certain. Units without a weighing are left out. One
 * bad day of a rarely used truck does not top the list, since a single weighing moves it little from the fleet's rate.
 */
export function worstOffenders<Id>(counts: readonly HeavyCount<Id>[]): HeavyRate<Id>[] {
  const weighed = counts.filter(({ weighings }) => weighings > 0)
  if (weighed.length === 0) return []
  const fleet = fleetRate(weighed)
  return weighed
    .map((count) => shrinkRate(count, fleet))
    .sort((a, b) => b.shrunkRate - a.shrunkRate || b.weighings - a.weighings)
}
