import { highestAt } from '#core/line/highest.ts'
import { at } from '#core/words/lists.ts'

/** A population of effects seen each with its own standard uncertainty. */
export interface Population {
  readonly mean: number
  readonly uMean: number
  /** Standard deviation of the true effects about their mean; 0 where chance explains all differences. */
  readonly between: number
  /** Predicted distance of each from the mean: its own, shrunk by what chance alone would do. */
  readonly effects: readonly number[]
}

interface Seen {
  readonly value: number
  /** Of its error. */
  readonly variance: number
}

function about(seen: readonly Seen[], between: number) {
  let information = 0
  let sum = 0
  let logs = 0
  for (const { value, variance } of seen) {
    const total = between + variance
    information += 1 / total
    sum += value / total
    logs += Math.log(total)
  }
  const mean = sum / information
  let squares = 0
  for (const { value, variance } of seen) squares += (value - mean) ** 2 / (between + variance)
  return { mean, information, logLikelihood: -0.5 * (logs + Math.log(information) + squares) }
}

/** The spread between effects is looked for from this share of the smallest uncertainty up. */
const leastShare = 1e-4

/**
 * Random effects y = mean + effect + error with known error variances u²: the spread between effects by restricted
 * maximum likelihood, the effects by best linear unbiased prediction, effect = τ²/(τ² + u²) (y - mean).
 *
 * Units: the caller's. Range: two values or more, every u > 0. τ is searched by golden sections to 1e-10 of its
 * logarithm between 1e-4 of the smallest u and ten times the spread of the values; at the lower end it is 0.
 * Errors: RangeError for fewer than two values.
 * Source: Pinheiro & Bates, Mixed-Effects Models in S and S-PLUS (2000), chapter 2 (from memory).
 */
export function shrinkEffects(values: readonly number[], u: readonly number[]): Population {
  if (values.length < 2) throw new RangeError('a population needs two effects or more')
  const low = Math.log(leastShare * Math.min(...u))
  const high = Math.max(low + 1, Math.log(10 * (Math.max(...values) - Math.min(...values)) + Math.exp(low)))
  const seen = values.map((value, i) => ({ value, variance: at(u, i) ** 2 }))
  const found = highestAt((x) => about(seen, Math.exp(2 * x)).logLikelihood, low, high, 1e-10)
  const between = found < low + 1 ? 0 : Math.exp(found)
  const { mean, information } = about(seen, between * between)
  return {
    mean,
    uMean: 1 / Math.sqrt(information),
    between,
    effects: seen.map(({ value, variance }) => (between ** 2 / (between ** 2 + variance)) * (value - mean)),
  }
}
