import type { Stretch, StretchWeighing } from '#core/evidence/scales/stretch.ts'
import { endsCorrelation } from '#core/line/track.ts'

/**
 * What all weighings say about the gains of the scales once every line is eliminated: information · gains = right. By
 * the places of the scales; information row by row.
 */
export interface ScaleEquations {
  readonly size: number
  readonly information: Float64Array
  readonly right: Float64Array
}

/** What one weighing says of its own scale, beside its line and the other scales: own · gain = rest ± √variance. */
export interface ScaleWitness {
  readonly at: number
  readonly own: number
  readonly rest: number
  readonly variance: number
}

/** How a stretch is seen while its line is eliminated. */
export interface Glasses {
  /** The places of its weighings' scales, one after the other. */
  readonly places: readonly number[]
  /** The gains by which wild weighings and changed lines are told. */
  readonly gains: readonly number[]
  /** By how much the variances of this stretch are larger than declared. */
  readonly noise: number
  readonly witness?: (place: number, said: ScaleWitness) => void
}

/** Huber's bound, standard deviations: a weighing beyond it counts as one at the bound. */
const huberLimit = 2
/** Two weighings in a row so far off on one side, the second a little less, are a line that changed. */
const changeZ = 3.5
const confirmZ = 2.5
/** Variance of a line nobody knows anything about, lb²: so wide that it takes nothing from what the weighings say. */
const unknownLb2 = 1e10
/** A line is known well enough to judge a weighing by once it adds no more than so many variances of its own. */
const settledShare = 4

/** A line as two weights, and what each column (the misses first, then the scales it meets) has made of them. */
class LineState {
  varEmpty = unknownLb2
  varLimit = unknownLb2
  cov = 0
  readonly #columns: number
  readonly #empty: Float64Array
  readonly #limit: Float64Array

  constructor(columns: number) {
    this.#columns = columns
    this.#empty = new Float64Array(columns)
    this.#limit = new Float64Array(columns)
  }

  forget(): void {
    this.varEmpty = unknownLb2
    this.varLimit = unknownLb2
    this.cov = 0
  }

  wander(lb2: number): void {
    this.varEmpty += lb2
    this.varLimit += lb2
    this.cov += endsCorrelation * lb2
  }

  /** Variance of the weight it reads at a share, after wandering by so much more. */
  variance(share: number, more = 0): number {
    const e = 1 - share
    return (
      e * e * (this.varEmpty + more) +
      2 * e * share * (this.cov + endsCorrelation * more) +
      share * share * (this.varLimit + more)
    )
  }

  /** What a weighing adds to what each column reads: its miss in the first, its line's weight in its scale's own. */
  innovate({ share, missLb, lineLb }: StretchWeighing, own: number, innovations: Float64Array): void {
    for (let c = 0; c < this.#columns; c += 1)
      innovations[c] = -(1 - share) * (this.#empty[c] as number) - share * (this.#limit[c] as number)
    innovations[0] = (innovations[0] as number) + missLb
    innovations[own] = (innovations[own] as number) + lineLb
  }

  update(share: number, variance: number, innovations: Float64Array): void {
    const e = 1 - share
    const toEmpty = e * this.varEmpty + share * this.cov
    const toLimit = e * this.cov + share * this.varLimit
    for (let c = 0; c < this.#columns; c += 1) {
      const step = (innovations[c] as number) / variance
      this.#empty[c] = (this.#empty[c] as number) + toEmpty * step
      this.#limit[c] = (this.#limit[c] as number) + toLimit * step
    }
    this.varEmpty -= (toEmpty * toEmpty) / variance
    this.varLimit -= (toLimit * toLimit) / variance
    this.cov -= (toEmpty * toLimit) / variance
  }
}

/**
 * Adds what one stretch says to the equations, its line eliminated: a Kalman filter runs over the misses and over a
 * column for each scale at once, and the innovations are what is left of both beside a line that nobody knew and that
 * wanders. That equals the Schur complement of the line in the mixed model's equations, at a cost linear in weighings.
 *
 * Wild weighings weigh less (Huber). A line that changed is forgotten at the change, so that it says nothing about
 * scales across it. Returns the sum of squared standardised misses (each at most nine) and how many there were.
 *
 * Units lb, ms. Source: P. de Jong, Ann. Statist. 19 (1991) 1073 (augmented filter); C. R. Henderson, Biometrics 31
 * (1975) 423 (mixed model equations); P. J. Huber, Ann. Math. Statist. 35 (1964) 73; all from memory.
 */
export function absorbLine(
  { weighings, wanderLb2PerMs }: Stretch,
  { places, gains, noise, witness }: Glasses,
  { size, information, right }: ScaleEquations,
): { squares: number; count: number } {
  const met = [...new Set(places)]
  const width = met.length + 1
  const line = new LineState(width)
  const innovations = new Float64Array(width)
  // Products of the columns, those left of the diagonal and on it.
  const said = new Float64Array(width * width)
  const ownGains = met.map((place) => gains[place] ?? 0)
  let squares = 0
  let count = 0
  let at = weighings[0]?.at ?? 0

  const columns = places.map((place) => 1 + met.indexOf(place))
  /** The miss of a weighing beside the gains, in standard deviations, from its innovations. */
  const standardised = (variance: number): number => {
    let miss = innovations[0] as number
    for (let c = 0; c < ownGains.length; c += 1) miss -= (ownGains[c] as number) * (innovations[c + 1] as number)
    return miss / Math.sqrt(noise * variance)
  }

  for (const [i, weighing] of weighings.entries()) {
    const { share, varLb2 } = weighing
    const own = columns[i] as number
    line.wander(wanderLb2PerMs * (weighing.at - at))
    at = weighing.at
    let variance = line.variance(share) + varLb2
    line.innovate(weighing, own, innovations)
    let z = standardised(variance)
    let settled = line.variance(share) < settledShare * varLb2
    const next = weighings[i + 1]
    if (settled && Math.abs(z) > changeZ && next) {
      line.innovate(next, columns[i + 1] as number, innovations)
      const nextZ = standardised(line.variance(next.share, wanderLb2PerMs * (next.at - at)) + next.varLb2)
      line.innovate(weighing, own, innovations)
      if (nextZ * Math.sign(z) > confirmZ) {
        line.forget()
        variance = line.variance(share) + varLb2
        z = standardised(variance)
        settled = false
      }
    }
    if (settled) {
      squares += noise * Math.min(9, z * z)
      count += 1
    }
    variance *= Math.max(1, Math.abs(z) / huberLimit)
    const scaled = noise * variance
    for (let p = 0; p < width; p += 1) {
      const weighed = (innovations[p] as number) / scaled
      if (weighed === 0) continue
      for (let q = 0; q <= p; q += 1)
        said[p * width + q] = (said[p * width + q] as number) + weighed * (innovations[q] as number)
    }
    if (witness) {
      const side = innovations[own] as number
      const rest = standardised(1) * Math.sqrt(noise) + (ownGains[own - 1] as number) * side
      witness(places[i] as number, { at, own: side, rest, variance: scaled })
    }
    line.update(share, variance, innovations)
  }
  for (const [p, one] of met.entries()) {
    right[one] = (right[one] as number) + (said[(p + 1) * width] as number)
    for (const [q, other] of met.entries()) {
      const cell = one * size + other
      information[cell] =
        (information[cell] as number) + (said[(Math.max(p, q) + 1) * width + Math.min(p, q) + 1] as number)
    }
  }
  return { squares, count }
}
