import { type MixturePart, type WeightMixture, addParts, mixtureOf } from '#core/evidence/state/weight-mixture.ts'

/**
 * A weight whose error has parts that other weights share: the gain of the scales it goes back to, and, for an
 * estimate, the weight it was estimated from.
 *
 * The weight errs by   own error + Σ gains (lb at one standard uncertainty of each scale) + slope · (error of
 * `follows`).
 * Units: lb, lb²; k = 1.
 */
export interface CorrelatedWeight {
  readonly weightLb: number
  /** Variance of what no other weight shares, lb². */
  readonly ownVarLb2: number
  /** The own error where several explanations have a part in it: means are deviations from the weight. Else normal. */
  readonly ownParts?: readonly MixturePart[]
  /** One part a scale. */
  readonly gains: readonly GainPart[]
  /** The weight this one was estimated from, and how many lb it moves per lb of that one. */
  readonly follows: { readonly weight: CorrelatedWeight; readonly slope: number } | null
}

/** Whether no mixture has a part in a weight: its standard uncertainty says all of its error. */
export const isNormal = ({ ownParts, follows }: CorrelatedWeight): boolean =>
  ownParts === undefined && (follows === null || isNormal(follows.weight))

/** What one standard uncertainty of a scale's gain does to a weight, lb, with its sign. */
export interface GainPart {
  readonly scaleId: number
  readonly lb: number
}

/** A weight known without error, such as that of a lift axle off the road. */
export const exactWeight = (weightLb: number): CorrelatedWeight => ({
  weightLb,
  ownVarLb2: 0,
  gains: [],
  follows: null,
})

/** Σ shareᵢ · weightᵢ with its standard uncertainty. */
export interface WeightSum {
  readonly weightLb: number
  readonly uLb: number
  /** The whole as a mixture, where a weight of it is one; otherwise it is normal. */
  readonly mixture?: WeightMixture
}

/** An own error of several explanations, and how far it counts in a sum. */
export interface MixedError {
  readonly parts: readonly MixturePart[]
  readonly share: number
}

/**
 * A sum as a mixture: the independent own errors that are mixtures, each with its share, and all others as one normal
 * part of a variance, lb². Each weight and each sum is told by a few parts (`fewParts`).
 */
export function mixtureOfSum(weightLb: number, restVarLb2: number, errors: readonly MixedError[]): WeightMixture {
  let parts: readonly MixturePart[] = [{ share: 1, mean: weightLb, variance: restVarLb2 }]
  for (const { parts: own, share } of errors) parts = addParts(parts, own, share)
  return mixtureOf(parts)
}

/**
 * The independent sources of a sum's error. Lists of a handful, searched from the front: bulk weighing makes millions.
 */
interface Sources {
  readonly own: CorrelatedWeight[]
  readonly shares: number[]
  readonly scaleIds: number[]
  readonly gainsLb: number[]
}

/** Adds share · weight to the independent sources of error: each weight's own part, each scale. */
function collect(sources: Sources, weight: CorrelatedWeight, share: number): void {
  const at = sources.own.indexOf(weight)
  if (at < 0) {
    sources.own.push(weight)
    sources.shares.push(share)
  } else sources.shares[at] = (sources.shares[at] as number) + share
  for (const { scaleId, lb } of weight.gains) {
    const scale = sources.scaleIds.indexOf(scaleId)
    if (scale < 0) {
      sources.scaleIds.push(scaleId)
      sources.gainsLb.push(share * lb)
    } else sources.gainsLb[scale] = (sources.gainsLb[scale] as number) + share * lb
  }
  if (weight.follows) collect(sources, weight.follows.weight, share * weight.follows.slope)
}

function sourcesOf(weights: readonly CorrelatedWeight[], shares?: readonly number[]): Sources {
  const sources: Sources = { own: [], shares: [], scaleIds: [], gainsLb: [] }
  for (let i = 0; i < weights.length; i += 1)
    collect(sources, weights[i] as CorrelatedWeight, shares === undefined ? 1 : (shares[i] as number))
  return sources
}

/**
 * A weighted sum of weights with the standard uncertainty that their shared parts bring:
 *   u² = Σ sources (Σ shareᵢ · sensitivityᵢ)² · variance.
 *
 * Units: lb, k = 1; shares are plain numbers (1 to add, -1 to take off, a half for half a group). Weights that are the
 * same object are the same weight. Errors: RangeError when the lists differ in length.
 * Source: JCGM 100:2008 (GUM) 5.2.2, equation (13), and F.1.2.3 on correlation through common sources.
 */
export function sumWeights(weights: readonly CorrelatedWeight[], shares?: readonly number[]): WeightSum {
  if (shares !== undefined && shares.length !== weights.length)
    throw new RangeError(`${weights.length} weights with ${shares.length} shares`)
  let weightLb = 0
  for (let i = 0; i < weights.length; i += 1)
    weightLb += (shares === undefined ? 1 : (shares[i] as number)) * (weights[i] as CorrelatedWeight).weightLb
  const sources = sourcesOf(weights, shares)
  let rest = 0
  let mixed = 0
  const errors: MixedError[] = []
  for (let i = 0; i < sources.own.length; i += 1) {
    const share = sources.shares[i] as number
    const { ownVarLb2, ownParts } = sources.own[i] as CorrelatedWeight
    if (ownParts === undefined || share === 0) rest += share * share * ownVarLb2
    else {
      mixed += share * share * ownVarLb2
      errors.push({ parts: ownParts, share })
    }
  }
  for (const lb of sources.gainsLb) rest += lb * lb
  const uLb = Math.sqrt(rest + mixed)
  return errors.length === 0 ? { weightLb, uLb } : { weightLb, uLb, mixture: mixtureOfSum(weightLb, rest, errors) }
}

/** Variance of one weight from all its parts, lb². */
export function varianceLb2(weight: CorrelatedWeight): number {
  if (weight.follows === null) {
    let variance = weight.ownVarLb2
    for (const { lb } of weight.gains) variance += lb * lb
    return variance
  }
  return sumWeights([weight]).uLb ** 2
}

/** Covariance of two weights through the sources they share, lb². */
export function covarianceLb2(one: CorrelatedWeight, other: CorrelatedWeight): number {
  const a = sourcesOf([one])
  const b = sourcesOf([other])
  let covariance = 0
  for (const [i, weight] of a.own.entries()) {
    covariance += (a.shares[i] as number) * (b.shares[b.own.indexOf(weight)] ?? 0) * weight.ownVarLb2
  }
  for (const [i, scaleId] of a.scaleIds.entries())
    covariance += (a.gainsLb[i] as number) * (b.gainsLb[b.scaleIds.indexOf(scaleId)] ?? 0)
  return covariance
}

/**
 * The errors of some weights over independent sources of unit variance, one row a weight, row by row in one array: each
 * weight's own error, then each scale's gain. The covariance of two weights is the product of their rows.
 */
export interface ErrorRows {
  readonly width: number
  readonly rows: Float64Array
  /** The weights whose own error, of unit variance in its column, is a mixture. */
  readonly mixed: readonly { readonly column: number; readonly weight: CorrelatedWeight }[]
}

/** The distinct weights behind some weights, themselves first, and the scales behind all of them. */
function rowSources(weights: readonly CorrelatedWeight[]): { own: CorrelatedWeight[]; scaleIds: number[] } {
  const own = [...weights]
  const scaleIds: number[] = []
  for (let i = 0; i < own.length; i += 1) {
    const { gains, follows } = own[i] as CorrelatedWeight
    for (let j = 0; j < gains.length; j += 1) {
      const { scaleId } = gains[j] as CorrelatedWeight['gains'][number]
      if (!scaleIds.includes(scaleId)) scaleIds.push(scaleId)
    }
    if (follows !== null && !own.includes(follows.weight)) own.push(follows.weight)
  }
  return { own, scaleIds }
}

/**
 * Takes weights with shared errors apart once, so that many sums of them cost a few multiplications each (a combination
 * of eight axles has 28 bridge sets). `sumWeights` says the same of one sum. Units: lb, k = 1.
 * Source: JCGM 100:2008 (GUM) 5.2.2, equation (13), with the sources as input quantities.
 */
export function errorRows(weights: readonly CorrelatedWeight[]): ErrorRows {
  const { own, scaleIds } = rowSources(weights)
  const width = own.length + scaleIds.length
  const rows = new Float64Array(weights.length * width)
  for (let i = 0; i < weights.length; i += 1) {
    const start = i * width
    let weight = weights[i] as CorrelatedWeight
    let share = 1
    for (;;) {
      const at = start + own.indexOf(weight)
      rows[at] = (rows[at] as number) + share * Math.sqrt(weight.ownVarLb2)
      for (let j = 0; j < weight.gains.length; j += 1) {
        const { scaleId, lb } = weight.gains[j] as CorrelatedWeight['gains'][number]
        const column = start + own.length + scaleIds.indexOf(scaleId)
        rows[column] = (rows[column] as number) + share * lb
      }
      if (weight.follows === null) break
      share *= weight.follows.slope
      weight = weight.follows.weight
    }
  }
  const mixed: ErrorRows['mixed'][number][] = []
  for (let column = 0; column < own.length; column += 1) {
    const weight = own[column] as CorrelatedWeight
    if (weight.ownParts !== undefined) mixed.push({ column, weight })
  }
  return { width, rows, mixed }
}

/** Part of a sum: the place of a weight among those of the rows, and its share. */
export interface SharedPart {
  readonly place: number
  readonly share: number
}

/** Standard uncertainty of Σ share · weight, lb. */
export function uncertaintyOfSum({ width, rows }: Omit<ErrorRows, 'mixed'>, parts: readonly SharedPart[]): number {
  let variance = 0
  for (let column = 0; column < width; column += 1) {
    let error = 0
    for (let i = 0; i < parts.length; i += 1) {
      const { place, share } = parts[i] as SharedPart
      error += share * (rows[place * width + column] as number)
    }
    variance += error * error
  }
  return Math.sqrt(variance)
}
