import type { CorrelatedWeight } from '#core/weight/correlated.ts'

/**
 * The errors of some weights over independent sources of unit variance, one row a weight, row by row in one array: each
 * weight's own error, then each scale's gain. The covariance of two weights is the product of their rows.
 */
export interface ErrorRows {
  readonly width: number
  readonly rows: Float64Array
}

/** The distinct weights behind some weights, themselves first, and the scales behind all of them. */
function sourcesOf(weights: readonly CorrelatedWeight[]): { own: CorrelatedWeight[]; scaleIds: number[] } {
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
  const { own, scaleIds } = sourcesOf(weights)
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
    for (let i = 0; i < parts.length; i += 1) {
      const { place, share } = parts[i] as SharedPart
      error += share * (rows[place * width + column] as number)
    }
    variance += error * error
  }
  return Math.sqrt(variance)
}
