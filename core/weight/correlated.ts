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
  /** One part a scale. */
  readonly gains: readonly GainPart[]
  /** The weight this one was estimated from, and how many lb it moves per lb of that one. */
  readonly follows: { readonly weight: CorrelatedWeight; readonly slope: number } | null
}

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
}

/**
 * The independent sources of a sum's error. Lists of a handful, searched from the front: bulk weighing makes millions.
 */
interface Sources {
  readonly own: { readonly weight: CorrelatedWeight; share: number }[]
  readonly scales: { readonly scaleId: number; gainLb: number }[]
}

/** Adds share · weight to the independent sources of error: each weight's own part, each scale. */
function collect({ own, scales }: Sources, weight: CorrelatedWeight, share: number): void {
  const known = own.find((each) => each.weight === weight)
  if (known) known.share += share
  else own.push({ weight, share })
  for (const { scaleId, lb } of weight.gains) {
    const scale = scales.find((each) => each.scaleId === scaleId)
    if (scale) scale.gainLb += share * lb
    else scales.push({ scaleId, gainLb: share * lb })
  }
  if (weight.follows) collect({ own, scales }, weight.follows.weight, share * weight.follows.slope)
}

function sourcesOf(weights: readonly CorrelatedWeight[], shares?: readonly number[]): Sources {
  const sources: Sources = { own: [], scales: [] }
  for (const [i, weight] of weights.entries()) collect(sources, weight, shares?.[i] ?? 1)
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
  for (const [i, weight] of weights.entries()) weightLb += (shares?.[i] ?? 1) * weight.weightLb
  const { own, scales } = sourcesOf(weights, shares)
  let variance = 0
  for (const { weight, share } of own) variance += share ** 2 * weight.ownVarLb2
  for (const { gainLb } of scales) variance += gainLb * gainLb
  return { weightLb, uLb: Math.sqrt(variance) }
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
  for (const { weight, share } of a.own)
    covariance += share * (b.own.find((each) => each.weight === weight)?.share ?? 0) * weight.ownVarLb2
  for (const { scaleId, gainLb } of a.scales)
    covariance += gainLb * (b.scales.find((each) => each.scaleId === scaleId)?.gainLb ?? 0)
  return covariance
}

/**
 * The errors of some weights over independent sources of unit variance, one row a weight, row by row in one array: each
 * weight's own error, then each scale's gain. The covariance of two weights is the product of their rows.
 */
export interface ErrorRows {
  readonly width: number
  readonly rows: Float64Array
}

/** The distinct weights behind some weights, themselves first, and the scales behind all of them. */
function rowSources(weights: readonly CorrelatedWeight[]): { own: CorrelatedWeight[]; scaleIds: number[] } {
  const own = [...weights]
  const scaleIds: number[] = []
  // Those that are added on the way are walked too.
  for (const { gains, follows } of own) {
    for (const { scaleId } of gains) if (!scaleIds.includes(scaleId)) scaleIds.push(scaleId)
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
      rows[at] = (rows[at] ?? 0) + share * Math.sqrt(weight.ownVarLb2)
      for (const { scaleId, lb } of weight.gains) {
        const column = start + own.length + scaleIds.indexOf(scaleId)
        rows[column] = (rows[column] ?? 0) + share * lb
      }
      if (weight.follows === null) break
      share *= weight.follows.slope
      weight = weight.follows.weight
    }
  }
  return { width, rows }
}

/** Part of a sum: the place of a weight among those of the rows, and its share. */
export interface SharedPart {
  readonly place: number
  readonly share: number
}

/** Standard uncertainty of Σ share · weight, lb. */
export function uncertaintyOfSum({ width, rows }: ErrorRows, parts: readonly SharedPart[]): number {
  let variance = 0
  for (let column = 0; column < width; column += 1) {
    let error = 0
    for (const { place, share } of parts) error += share * (rows[place * width + column] ?? 0)
    variance += error * error
  }
  return Math.sqrt(variance)
}
