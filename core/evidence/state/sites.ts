import type { Columns, SlipColumn } from '#core/evidence/state/columns.ts'

/** Numbers of a state, see `Pass`. */
export const stride = 9

/** What stands in for each weighing in a linear filter: one normal observation of the line at a share. */
export interface Sites {
  readonly value: Float64Array
  readonly variance: Float64Array
  readonly share: Float64Array
  /** ln of the factor by which the stand-in is to be multiplied to weigh as much as the weighing itself. */
  readonly logScale: Float64Array
  /** Probabilities that the weighing is a tail one, a wild one, a slip, and which slip. */
  readonly tail: Float64Array
  readonly wild: Float64Array
  readonly slip: Float64Array
  readonly slipPlace: Int8Array
}

export function sitesFor(size: number): Sites {
  const all = new Float64Array(7 * size)
  const part = (place: number) => all.subarray(place * size, (place + 1) * size)
  return {
    value: part(0),
    variance: part(1),
    share: part(2),
    logScale: part(3),
    tail: part(4),
    wild: part(5),
    slip: part(6),
    slipPlace: new Int8Array(size),
  }
}

const log2Pi = Math.log(2 * Math.PI)
/** ln of the normal density of a miss. */
export const logNormal = (miss: number, variance: number): number =>
  -0.5 * (log2Pi + Math.log(variance) + (miss * miss) / variance)

/** Slips are looked for only where an ordinary weighing would miss by more than so many standard deviations. */
const slipZ = 3
/** A stand-in never weighs less than this share of an ordinary weighing: nothing is divided by zero. */
const leastWeight = 1e-4

const noSlips: readonly SlipColumn[] = []

/** What a state (two weights, then from the fourth number on their variances) says of its line at a share. */
const readMean = (states: Float64Array, at: number, share: number): number =>
  (1 - share) * (states[at] as number) + share * (states[at + 1] as number)
const readVariance = (states: Float64Array, at: number, share: number): number =>
  (1 - share) * (1 - share) * (states[at + 3] as number) +
  2 * (1 - share) * share * (states[at + 4] as number) +
  share * share * (states[at + 5] as number)

/**
 * Reads one weighing as a mixture: ordinary, tail of the leveling, wild, or one of its slips, each a normal miss of
 * the line. Given what the rest of the evidence says of the line there (mean, variance; `states` at the weighing's
 * place, nine numbers each, for the share of a slip of the pressure), it sets the stand-in that has the same effect on
 * mean and variance, and answers ln of the probability density of the weighing.
 *
 * Moments of a normal mixture are exact; standing in for it by one normal is the approximation, known as assumed
 * density filtering on the way forward and as expectation propagation where the rest is all other weighings (from
 * memory: T. P. Minka's name for it). Where the mixture says less than nothing about the line (two far apart
 * explanations), the stand-in says next to nothing.
 */
export function setSite(
  columns: Columns,
  sites: Sites,
  i: number,
  mean: number,
  variance: number,
  states: Float64Array,
): number {
  const weight = columns.weight[i] as number
  const r0 = columns.varOrdinary[i] as number
  const r1 = columns.varTail[i] as number
  const r2 = columns.varWild[i] as number
  const { shareOrdinary, shareTail, shareWild } = columns
  const miss = weight - mean
  const miss2 = miss * miss
  const v0 = variance + r0
  const v1 = variance + r1
  const v2 = variance + r2
  const slips = miss2 > slipZ * slipZ * v0 ? columns.slips(i) : noSlips
  let slipPlace = -1
  let slipLog = Number.NEGATIVE_INFINITY
  let slipMiss = 0
  let slipVariance = 0
  for (let k = 0; k < slips.length; k += 1) {
    const slip = slips[k] as (typeof slips)[number]
    const there = slip.elsewhere ? readMean(states, stride * i, slip.share) : mean
    const varThere = slip.elsewhere ? readVariance(states, stride * i, slip.share) : variance
    const l = slip.logPrior + logNormal(slip.weight - there, varThere + r0)
    // One slip a weighing is kept: the most probable; the others are of another size and far behind.
    if (l > slipLog) {
      slipLog = l
      slipPlace = k
      slipMiss = slip.weight - there
      slipVariance = varThere
    }
  }
  // Densities are w exp(-q/2), taken against e to the power of `top`, so that none that counts is lost far out. One
  // logarithm does for all where no slip stands among them: a fleet asks for millions.
  const w0 = shareOrdinary / Math.sqrt(v0)
  const w1 = shareTail / Math.sqrt(v1)
  const w2 = shareWild / Math.sqrt(v2)
  const q0 = miss2 / v0
  const q1 = w1 > 0 ? miss2 / v1 : q0
  const q2 = w2 > 0 ? miss2 / v2 : q0
  let top = -Math.min(q0, q1, q2) / 2
  if (slipPlace >= 0)
    top = Math.max(Math.log(w0) - q0 / 2, Math.log(w1) - q1 / 2, Math.log(w2) - q2 / 2, slipLog + log2Pi / 2)
  const e0 = w0 * Math.exp(-q0 / 2 - top)
  const e1 = w1 * Math.exp(-q1 / 2 - top)
  const e2 = w2 * Math.exp(-q2 / 2 - top)
  const e3 = slipPlace < 0 ? 0 : Math.exp(slipLog + log2Pi / 2 - top)
  const total = e0 + e1 + e2 + e3
  sites.tail[i] = e1 / total
  sites.wild[i] = e2 / total
  sites.slip[i] = e3 / total
  sites.slipPlace[i] = slipPlace
  sites.share[i] = columns.share[i] as number
  const logDensity = Math.log(total) + top - log2Pi / 2
  const slip = slipPlace < 0 ? undefined : slips[slipPlace]
  if (slip?.elsewhere === true && e3 > total / 2) {
    const r = (r0 * total) / e3
    sites.share[i] = slip.share
    sites.value[i] = slip.weight
    sites.variance[i] = r
    sites.logScale[i] = logDensity - logNormal(slipMiss, slipVariance + r)
    return logDensity
  }
  // Mean and variance of the line at the share, once the weighing is taken in.
  const g0 = variance / v0
  const g1 = variance / v1
  const g2 = variance / v2
  const e3Here = slip?.elsewhere === true ? 0 : e3
  const here = e0 + e1 + e2 + e3Here
  const m0 = g0 * miss
  const m1 = g1 * miss
  const m2 = g2 * miss
  const m3 = g0 * slipMiss
  const shift = (e0 * m0 + e1 * m1 + e2 * m2 + e3Here * m3) / here
  const spread =
    (e0 * (g0 * r0 + (m0 - shift) * (m0 - shift)) +
      e1 * (g1 * r1 + (m1 - shift) * (m1 - shift)) +
      e2 * (g2 * r2 + (m2 - shift) * (m2 - shift)) +
      e3Here * (g0 * r0 + (m3 - shift) * (m3 - shift))) /
    here
  const precision = 1 / spread - 1 / variance
  const least = leastWeight / r0
  let value = weight
  let r = 1 / least
  if (precision > least) {
    r = 1 / precision
    // Never beyond what was weighed or would have been typed: a stand-in out there would vouch for places far away.
    const wanted = (shift / spread) * r
    const low = e3Here > 0 ? Math.min(0, miss, slipMiss) : Math.min(0, miss)
    const high = e3Here > 0 ? Math.max(0, miss, slipMiss) : Math.max(0, miss)
    value = mean + Math.max(low, Math.min(high, wanted))
  }
  sites.value[i] = value
  sites.variance[i] = r
  sites.logScale[i] = logDensity - logNormal(value - mean, variance + r)
  return logDensity
}
