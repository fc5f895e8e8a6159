import type { Columns } from '#core/evidence/state/columns.ts'
import { type Course, type Pass, filterPass, roughPass } from '#core/evidence/state/passes.ts'
import type { ChangeKind, ChangePriors } from '#core/evidence/state/series.ts'
import { stride } from '#core/evidence/state/sites.ts'
import type { TwoWeights } from '#core/line/track.ts'

/** A change between weighing `gap - 1` and weighing `gap`. */
export interface Change {
  readonly kind: ChangeKind
  readonly gap: number
}

/** What a jump of a kind adds to the variances of the two weights, lb². */
export interface JumpSizes {
  readonly offset: readonly [number, number, number]
  readonly slope: readonly [number, number, number]
  /** What one standard deviation of drift adds in a month, lb. */
  readonly driftLbPerMonth: number
}

/** Another sensor errs a little in slope too, another ride height a little in offset; a choice. */
const impureShare = 0.15

/**
 * Jumps as covariances: an offset of q psi moves both weights by b q, a slope change of the share d moves the weight
 * at pressure p by b p d.
 */
export function jumpSizes({ series, priors }: Columns): JumpSizes {
  const { slopeLbPerPsi: b, emptyPsi, limitPsi } = series
  const made = (offsetPsi: number, slopeShare: number): [number, number, number] => {
    const offset = (b * offsetPsi) ** 2
    const slope = (b * slopeShare) ** 2
    return [
      offset + slope * emptyPsi * emptyPsi,
      offset + slope * emptyPsi * limitPsi,
      offset + slope * limitPsi * limitPsi,
    ]
  }
  return {
    offset: made(priors.offsetPsi, impureShare * priors.slopeShare),
    slope: made(impureShare * priors.offsetPsi, priors.slopeShare),
    driftLbPerMonth: b * priors.driftPsiPerMonth,
  }
}

/** ln of the probability that a change of a kind falls into a gap. */
export const logPriorOf = ({ months, priors }: Columns, { kind, gap }: Change): number =>
  logRate(priors, kind) + Math.log((months[gap] as number) - (months[gap - 1] as number))

/** ln of how many changes of a kind come in a month. */
function logRate({ offsetsPerYear, slopesPerYear, driftsPerYear }: ChangePriors, kind: ChangeKind): number {
  const perYear = kind === 'offset' ? offsetsPerYear : kind === 'slope' ? slopesPerYear : driftsPerYear
  return Math.log(perYear / 12)
}

/** When a drift that begins in a gap is taken to begin: in its middle, months. */
export const driftBegins = (months: Float64Array, gap: number): number =>
  ((months[gap - 1] as number) + (months[gap] as number)) / 2

/** What a set of changes does to the weighings of a life. One drift at most. */
export function courseOf({ size, months }: Columns, sizes: JumpSizes, changes: readonly Change[]): Course {
  let jumps: Float64Array | null = null
  let effect: Float64Array | null = null
  for (const { kind, gap } of changes) {
    if (kind === 'drift') {
      const begins = driftBegins(months, gap)
      effect = new Float64Array(size)
      for (let i = gap; i < size; i += 1) effect[i] = sizes.driftLbPerMonth * ((months[i] as number) - begins)
    } else {
      jumps ??= new Float64Array(3 * size)
      for (let k = 0; k < 3; k += 1) jumps[3 * gap + k] = (jumps[3 * gap + k] as number) + (sizes[kind][k] as number)
    }
  }
  return { jumps, effect }
}

const log2Pi = Math.log(2 * Math.PI)

/** ln of the density of a two-dimensional normal at a distance from its mean. */
function logNormal2(d0: number, d1: number, s00: number, s01: number, s11: number): number {
  const det = s00 * s11 - s01 * s01
  return -log2Pi - 0.5 * (Math.log(det) + (s11 * d0 * d0 - 2 * s01 * d0 * d1 + s00 * d1 * d1) / det)
}

/** So wide that looking back starts from next to nothing, psi. */
const widePsi = 40
const wideCorrelation = 0.5

/** ln of how much more probable the weighings are with one more change of a kind in a gap, its prior included. */
export interface Placements {
  /** Three numbers a gap, in the order of `changeKinds`; -Infinity where nothing can be placed. */
  readonly logOdds: Float64Array
}

/**
 * Places one more change into every gap at once. What came before a gap is a filter forwards, what came after it one
 * backwards from a wide start; a change joins the two by the normal density of their distance:
 *   ln p = ln p(before) + ln p(after) + ln N(x_f - x_b; P_f + Q + D + P_b) - ln N(x_b - x_0; P_0),
 * the last term taking the wide start out again. Both ways every weighing is read as its own mixture, so that a wild
 * one hides no change. A drift looks back with its own rate unknown.
 *
 * Cost: linear in the weighings. Source: the two-filter form of smoothing (Kitagawa; Durbin & Koopman, from memory).
 */
export function placeChanges(columns: Columns, sizes: JumpSizes, base: Course, forwards: Pass): Placements {
  const { size, months, wanderVar, wanderCov, series, priors } = columns
  const logOdds = new Float64Array(3 * size).fill(Number.NEGATIVE_INFINITY)
  if (size < 2) return { logOdds }
  const last = stride * (size - 1)
  const wide = (series.slopeLbPerPsi * widePsi) ** 2
  const start: TwoWeights = {
    atEmpty: forwards.state[last] as number,
    atLimit: forwards.state[last + 1] as number,
    varEmpty: wide,
    varLimit: wide,
    cov: wideCorrelation * wide,
  }
  const end = months[size - 1] as number
  const { pass: back, sites } = roughPass(size)
  let whole = 0
  for (let i = 0; i < size; i += 1) whole += forwards.logDensity[i] as number

  const { offset, slope } = sizes
  const rates = { offset: logRate(priors, 'offset'), slope: logRate(priors, 'slope'), drift: logRate(priors, 'drift') }
  const { jumps } = base
  const look = (effect: Float64Array | null) => {
    filterPass(columns, { jumps, effect }, start, true, sites, false, back)
    let after = 0
    let before = whole
    for (let gap = size - 1; gap > 0; gap -= 1) {
      after += back.logDensity[gap] as number
      before -= forwards.logDensity[gap] as number
      const dt = (months[gap] as number) - (months[gap - 1] as number)
      if (!(dt > 0)) continue
      const f = stride * (gap - 1)
      const b = stride * gap
      const x0 = back.state[b] as number
      const x1 = back.state[b + 1] as number
      const k = effect === null ? 0 : sizes.driftLbPerMonth * (driftBegins(months, gap) - end)
      const x2 = back.state[b + 2] as number
      const p02 = back.state[b + 6] as number
      const p12 = back.state[b + 7] as number
      const kk = k * k * (back.state[b + 8] as number)
      const j00 = jumps === null ? 0 : (jumps[3 * gap] as number)
      const j01 = jumps === null ? 0 : (jumps[3 * gap + 1] as number)
      const j11 = jumps === null ? 0 : (jumps[3 * gap + 2] as number)
      const s00 =
        (forwards.state[f + 3] as number) + wanderVar * dt + (back.state[b + 3] as number) + 2 * k * p02 + kk + j00
      const s01 =
        (forwards.state[f + 4] as number) + wanderCov * dt + (back.state[b + 4] as number) + k * (p02 + p12) + kk + j01
      const s11 =
        (forwards.state[f + 5] as number) + wanderVar * dt + (back.state[b + 5] as number) + 2 * k * p12 + kk + j11
      const d0 = (forwards.state[f] as number) - x0 - k * x2
      const d1 = (forwards.state[f + 1] as number) - x1 - k * x2
      const rest =
        before +
        after -
        whole -
        logNormal2(x0 - start.atEmpty, x1 - start.atLimit, start.varEmpty, start.cov, start.varLimit)
      const logTime = Math.log(dt)
      if (effect === null) {
        const ofOffset = logNormal2(d0, d1, s00 + offset[0], s01 + offset[1], s11 + offset[2])
        const ofSlope = logNormal2(d0, d1, s00 + slope[0], s01 + slope[1], s11 + slope[2])
        logOdds[3 * gap] = rest + ofOffset + rates.offset + logTime
        logOdds[3 * gap + 1] = rest + ofSlope + rates.slope + logTime
      } else logOdds[3 * gap + 2] = rest + logNormal2(d0, d1, s00, s01, s11) + rates.drift + logTime
    }
  }
  look(null)
  const effect = new Float64Array(size)
  for (let i = 0; i < size; i += 1) effect[i] = sizes.driftLbPerMonth * ((months[i] as number) - end)
  look(effect)
  return { logOdds }
}
