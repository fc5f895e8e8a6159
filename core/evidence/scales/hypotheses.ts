import type { ScaleEquations } from '#core/evidence/scales/absorb-lines.ts'

/**
 * What is believed of a scale before any weighing: how far its gain may lie from none, relative (a standard deviation),
 * while it keeps its tolerance, and on each step beyond; ever wider, ever less likely.
 */
export type ScalePrior = readonly [within: number, ...beyond: number[]]

/** What is believed of the scales together afterwards: by their places, relative; covariance row by row. */
export interface ScalePosterior {
  readonly gains: readonly number[]
  readonly covariance: Float64Array
  /** Probability that each is out of order. */
  readonly beyond: readonly number[]
}

/** One supposition of how far out of order each scale is, as steps of its prior, and what follows if it is true. */
interface Supposition {
  readonly steps: readonly number[]
  readonly logWeight: number
  readonly gains: Float64Array
  readonly covariance: Float64Array
}

/** Suppositions looked at, and how much less likely than the best is left out, as a logarithm. */
const mostKept = 64
const furthest = 10
/** Of scales that went one step beyond, so many went another. A choice: one in twenty. */
const furtherShare = 0.05

/** Inverse of a symmetric positive definite matrix, row by row, by Gauss and Jordan; in place. */
function invert(matrix: Float64Array, size: number): Float64Array {
  for (let k = 0; k < size; k += 1) {
    const pivot = 1 / (matrix[k * size + k] as number)
    matrix[k * size + k] = 1
    for (let j = 0; j < size; j += 1) matrix[k * size + j] = (matrix[k * size + j] as number) * pivot
    for (let i = 0; i < size; i += 1) {
      if (i === k) continue
      const factor = matrix[i * size + k] as number
      if (factor === 0) continue
      matrix[i * size + k] = 0
      for (let j = 0; j < size; j += 1)
        matrix[i * size + j] = (matrix[i * size + j] as number) - factor * (matrix[k * size + j] as number)
    }
  }
  return matrix
}

/** All scales within their tolerance: the mixed model's equations with the tolerances as the gains' variances. */
function allWithin({ size, information, right }: ScaleEquations, priors: readonly ScalePrior[]): Supposition {
  const covariance = Float64Array.from(information)
  for (const [place, [within]] of priors.entries())
    covariance[place * size + place] = (covariance[place * size + place] as number) + 1 / (within * within)
  invert(covariance, size)
  const gains = new Float64Array(size)
  for (let i = 0; i < size; i += 1)
    for (let j = 0; j < size; j += 1)
      gains[i] = (gains[i] as number) + (covariance[i * size + j] as number) * (right[j] as number)
  return { steps: priors.map(() => 0), logWeight: 0, gains, covariance }
}

/** What one step beyond does to a scale: how much wider, and the precision taken over the share of variance left. */
function stepBeyond({ steps, gains, covariance }: Supposition, place: number, prior: ScalePrior) {
  const step = steps[place] as number
  const narrow = prior[step] as number
  const wide = prior[step + 1] as number
  const taken = 1 / (narrow * narrow) - 1 / (wide * wide)
  const left = 1 - taken * (covariance[place * gains.length + place] as number)
  const gain = gains[place] as number
  const factor = taken / left
  // How much likelier, as a logarithm, that makes the weighings.
  const logGained = Math.log(narrow / wide) - Math.log(left) / 2 + (factor * gain * gain) / 2
  return { factor, logGained }
}

/** The supposition with one scale a step further out of order: an update of rank one. */
function supposing(from: Supposition, place: number, prior: ScalePrior, logWeight: number): Supposition {
  const size = from.gains.length
  const { factor } = stepBeyond(from, place, prior)
  const gains = Float64Array.from(from.gains)
  const covariance = Float64Array.from(from.covariance)
  const own = from.gains[place] as number
  for (let i = 0; i < size; i += 1) {
    const column = factor * (from.covariance[i * size + place] as number)
    gains[i] = (gains[i] as number) + column * own
    for (let j = 0; j < size; j += 1)
      covariance[i * size + j] =
        (covariance[i * size + j] as number) + column * (from.covariance[j * size + place] as number)
  }
  return { steps: from.steps.with(place, (from.steps[place] as number) + 1), logWeight, gains, covariance }
}

interface Candidate {
  readonly logWeight: number
  readonly make: () => Supposition
}

/** The suppositions that carry weight, likeliest first, each found from one in which some scale is a step less off. */
function suppositions(
  equations: ScaleEquations,
  priors: readonly ScalePrior[],
  beyondShare: number,
): readonly Supposition[] {
  const kept: Supposition[] = []
  const seen = new Set<string>()
  let open: Candidate[] = [{ logWeight: 0, make: () => allWithin(equations, priors) }]
  let best = 0
  while (kept.length < mostKept) {
    const next = open.reduce<Candidate | undefined>(
      (most, each) => (most && most.logWeight >= each.logWeight ? most : each),
      undefined,
    )
    if (!next || next.logWeight < best - furthest) break
    const from = next.make()
    best = Math.max(best, from.logWeight)
    kept.push(from)
    open = open.filter((each) => each !== next && each.logWeight > best - furthest)
    for (const [place, prior] of priors.entries()) {
      const step = from.steps[place] as number
      if (step + 1 === prior.length) continue
      const odds = step === 0 ? beyondShare / (1 - beyondShare) : furtherShare
      const logWeight = from.logWeight + Math.log(odds) + stepBeyond(from, place, prior).logGained
      if (logWeight < best - furthest) continue
      const key = from.steps.with(place, step + 1).join('')
      if (seen.has(key)) continue
      seen.add(key)
      open.push({ logWeight, make: () => supposing(from, place, prior, logWeight) })
    }
  }
  return kept.filter(({ logWeight }) => logWeight > best - furthest)
}

/**
 * The scales' gains with their full covariance, averaged over the suppositions of which of them are out of order, and
 * how far. Exact for a few scales; of many the likeliest suppositions are kept.
 */
export function judgeScales(
  equations: ScaleEquations,
  priors: readonly ScalePrior[],
  beyondShare: number,
): ScalePosterior {
  const { size } = equations
  const found = suppositions(equations, priors, beyondShare)
  const best = found.reduce((most, { logWeight }) => Math.max(most, logWeight), Number.NEGATIVE_INFINITY)
  const total = found.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - best), 0)
  const shared = found.map((each) => ({ ...each, share: Math.exp(each.logWeight - best) / total }))
  const gains = Array.from({ length: size }, (_, i) =>
    shared.reduce((sum, each) => sum + each.share * (each.gains[i] as number), 0),
  )
  const beyond = Array.from({ length: size }, (_, i) =>
    shared.reduce((sum, { share, steps }) => sum + (steps[i] === 0 ? 0 : share), 0),
  )
  const covariance = new Float64Array(size * size)
  for (const { share, gains: own, covariance: within } of shared) {
    for (let i = 0; i < size; i += 1) {
      for (let j = 0; j < size; j += 1) {
        const apart = ((own[i] as number) - (gains[i] as number)) * ((own[j] as number) - (gains[j] as number))
        covariance[i * size + j] =
          (covariance[i * size + j] as number) + share * ((within[i * size + j] as number) + apart)
      }
    }
  }
  return { gains, covariance, beyond }
}
