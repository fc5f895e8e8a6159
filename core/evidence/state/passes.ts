import type { Columns } from '#core/evidence/state/columns.ts'
import { type Sites, logNormal, setSite, sitesFor, stride } from '#core/evidence/state/sites.ts'
import type { TwoWeights } from '#core/line/track.ts'

/**
 * What a hypothesis says happened: jumps before certain weighings, and one constant effect with a known course (a
 * drift's psi since it began, a temperature's degrees) in units of its own standard deviation.
 */
export interface Course {
  /** Variance at empty, covariance, variance at limit that a jump before weighing i adds: three numbers a weighing. */
  readonly jumps: Float64Array | null
  /** What a constant effect of one standard deviation adds to weighing i, lb. */
  readonly effect: Float64Array | null
}

export const plainCourse: Course = { jumps: null, effect: null }

/**
 * States after each weighing, nine numbers each: weights at empty and at limit, the constant effect, then variances
 * and covariances in the order 00 01 11 02 12 22. With what each weighing was expected to show.
 */
export interface Pass {
  readonly state: Float64Array
  readonly mean: Float64Array
  readonly variance: Float64Array
  /** ln of the probability density of each weighing given those before. */
  readonly logDensity: Float64Array
}

/** Room for a pass, in one piece: a fleet makes some hundred thousand of them. */
export function passFor(size: number): Pass {
  const all = new Float64Array((stride + 3) * size)
  const part = (place: number) => all.subarray((stride + place) * size, (stride + place + 1) * size)
  return { state: all.subarray(0, stride * size), mean: part(0), variance: part(1), logDensity: part(2) }
}

let rough = { size: 0, pass: passFor(0), sites: sitesFor(0) }

/** Room for a pass of which nothing is kept once the next is asked for; it may be larger than asked. */
export function roughPass(size: number): { readonly pass: Pass; readonly sites: Sites } {
  if (rough.size < size) rough = { size, pass: passFor(size), sites: sitesFor(size) }
  return rough
}

/**
 * Kalman filter over a life, forwards or backwards in time (a random walk is the same both ways), in the Joseph form
 * P = (I - K h) P (I - K h)' + K r K', which stays positive whatever the rounding. With `settled` the stand-ins of an
 * earlier look are taken, otherwise each weighing's own is set from what was known before it.
 *
 * Units lb, months. Cost: linear in the weighings.
 * Source: Durbin & Koopman, Time Series Analysis by State Space Methods, chapter 4 (from memory).
 */
export function filterPass(
  columns: Columns,
  { jumps, effect }: Course,
  start: TwoWeights,
  backwards: boolean,
  sites: Sites,
  settled: boolean,
  pass: Pass,
): Pass {
  const { size, months, share, wanderVar, wanderCov } = columns
  const { state } = pass
  let x0 = start.atEmpty
  let x1 = start.atLimit
  let x2 = 0
  let p00 = start.varEmpty
  let p01 = start.cov
  let p11 = start.varLimit
  let p02 = 0
  let p12 = 0
  let p22 = 1
  for (let step = 0; step < size; step += 1) {
    const i = backwards ? size - 1 - step : step
    if (step > 0) {
      const gap = backwards ? i + 1 : i
      const dt = (months[gap] as number) - (months[gap - 1] as number)
      p00 += wanderVar * dt
      p11 += wanderVar * dt
      p01 += wanderCov * dt
      if (jumps !== null) {
        p00 += jumps[3 * gap] as number
        p01 += jumps[3 * gap + 1] as number
        p11 += jumps[3 * gap + 2] as number
      }
    }
    const at = stride * i
    const own = share[i] as number
    const reach = effect === null ? 0 : (effect[i] as number)
    const s = settled ? (sites.share[i] as number) : own
    let h0 = 1 - s
    let h1 = s
    let g0 = p00 * h0 + p01 * h1 + p02 * reach
    let g1 = p01 * h0 + p11 * h1 + p12 * reach
    let g2 = p02 * h0 + p12 * h1 + p22 * reach
    let mean = h0 * x0 + h1 * x1 + reach * x2
    let variance = h0 * g0 + h1 * g1 + reach * g2
    pass.mean[i] = mean
    pass.variance[i] = variance
    if (settled) {
      pass.logDensity[i] =
        logNormal((sites.value[i] as number) - mean, variance + (sites.variance[i] as number)) +
        (sites.logScale[i] as number)
    } else {
      // Until it is known what the weighing says, its place holds what was known before it.
      state[at] = x0
      state[at + 1] = x1
      state[at + 3] = p00
      state[at + 4] = p01
      state[at + 5] = p11
      pass.logDensity[i] = setSite(columns, sites, i, mean, variance, state)
      if (sites.share[i] !== own) {
        h1 = sites.share[i] as number
        h0 = 1 - h1
        g0 = p00 * h0 + p01 * h1 + p02 * reach
        g1 = p01 * h0 + p11 * h1 + p12 * reach
        g2 = p02 * h0 + p12 * h1 + p22 * reach
        mean = h0 * x0 + h1 * x1 + reach * x2
        variance = h0 * g0 + h1 * g1 + reach * g2
      }
    }
    const r = sites.variance[i] as number
    const total = variance + r
    const k0 = g0 / total
    const k1 = g1 / total
    const k2 = g2 / total
    const miss = (sites.value[i] as number) - mean
    x0 += k0 * miss
    x1 += k1 * miss
    x2 += k2 * miss
    // Joseph: A = I - K h, P = A P A' + K r K'. Rows of A P first.
    const b00 = p00 - k0 * g0
    const b01 = p01 - k0 * g1
    const b02 = p02 - k0 * g2
    const b11 = p11 - k1 * g1
    const b10 = p01 - k1 * g0
    const b12 = p12 - k1 * g2
    const b20 = p02 - k2 * g0
    const b21 = p12 - k2 * g1
    const b22 = p22 - k2 * g2
    const f0 = b00 * h0 + b01 * h1 + b02 * reach
    const f1 = b10 * h0 + b11 * h1 + b12 * reach
    const f2 = b20 * h0 + b21 * h1 + b22 * reach
    p00 = b00 - f0 * k0 + r * k0 * k0
    p01 = b01 - f0 * k1 + r * k0 * k1
    p11 = b11 - f1 * k1 + r * k1 * k1
    p02 = b02 - f0 * k2 + r * k0 * k2
    p12 = b12 - f1 * k2 + r * k1 * k2
    p22 = b22 - f2 * k2 + r * k2 * k2
    state[at] = x0
    state[at + 1] = x1
    state[at + 2] = x2
    state[at + 3] = p00
    state[at + 4] = p01
    state[at + 5] = p11
    state[at + 6] = p02
    state[at + 7] = p12
    state[at + 8] = p22
  }
  return pass
}

/** Variances that wandering and jumps add between weighing i and the next, lb²: at empty, together, at limit. */
export interface Gap {
  readonly varEmpty: number
  readonly cov: number
  readonly varLimit: number
}

/**
 * One step back of the Rauch-Tung-Striebel smoother: what the later state, smoothed, says of an earlier one that was
 * filtered, `gap` before it. With no motion but noise the gain is G = P (P + Q)⁻¹, and in a form that stays positive
 *   x = x_f + G (x_s - x_f), P = (I - G) P_f (I - G)' + G (P_s + Q) G'.
 * Source: H. E. Rauch, F. Tung, C. T. Striebel, AIAA J. 3 (1965) 1445 (from memory).
 */
export function smoothStep(
  filtered: Float64Array,
  from: number,
  { varEmpty, cov, varLimit }: Gap,
  later: Float64Array,
  laterFrom: number,
  out: Float64Array,
  outFrom: number,
): void {
  const f0 = filtered[from] as number
  const f1 = filtered[from + 1] as number
  const f2 = filtered[from + 2] as number
  const p00 = filtered[from + 3] as number
  const p01 = filtered[from + 4] as number
  const p11 = filtered[from + 5] as number
  const p02 = filtered[from + 6] as number
  const p12 = filtered[from + 7] as number
  const p22 = filtered[from + 8] as number
  // Inverse of S = P + Q; then I - G = Q S⁻¹, whose last row is zero since the constant effect has no noise.
  const s00 = p00 + varEmpty
  const s01 = p01 + cov
  const s11 = p11 + varLimit
  const c00 = s11 * p22 - p12 * p12
  const c01 = p02 * p12 - s01 * p22
  const c02 = s01 * p12 - s11 * p02
  const det = s00 * c00 + s01 * c01 + p02 * c02
  const i00 = c00 / det
  const i01 = c01 / det
  const i02 = c02 / det
  const i11 = (s00 * p22 - p02 * p02) / det
  const i12 = (s01 * p02 - s00 * p12) / det
  const a00 = varEmpty * i00 + cov * i01
  const a01 = varEmpty * i01 + cov * i11
  const a02 = varEmpty * i02 + cov * i12
  const a10 = cov * i00 + varLimit * i01
  const a11 = cov * i01 + varLimit * i11
  const a12 = cov * i02 + varLimit * i12
  const l0 = later[laterFrom] as number
  const l1 = later[laterFrom + 1] as number
  const l2 = later[laterFrom + 2] as number
  const d0 = f0 - l0
  const d1 = f1 - l1
  const d2 = f2 - l2
  out[outFrom] = l0 + a00 * d0 + a01 * d1 + a02 * d2
  out[outFrom + 1] = l1 + a10 * d0 + a11 * d1 + a12 * d2
  out[outFrom + 2] = l2
  // B = A P_f (two rows), then A P_f A'.
  const b00 = a00 * p00 + a01 * p01 + a02 * p02
  const b01 = a00 * p01 + a01 * p11 + a02 * p12
  const b02 = a00 * p02 + a01 * p12 + a02 * p22
  const b10 = a10 * p00 + a11 * p01 + a12 * p02
  const b11 = a10 * p01 + a11 * p11 + a12 * p12
  const b12 = a10 * p02 + a11 * p12 + a12 * p22
  // N = P_s + Q, G = I - A.
  const n00 = (later[laterFrom + 3] as number) + varEmpty
  const n01 = (later[laterFrom + 4] as number) + cov
  const n11 = (later[laterFrom + 5] as number) + varLimit
  const n02 = later[laterFrom + 6] as number
  const n12 = later[laterFrom + 7] as number
  const n22 = later[laterFrom + 8] as number
  const g00 = 1 - a00
  const g11 = 1 - a11
  const u00 = g00 * n00 - a01 * n01 - a02 * n02
  const u01 = g00 * n01 - a01 * n11 - a02 * n12
  const u02 = g00 * n02 - a01 * n12 - a02 * n22
  const u10 = -a10 * n00 + g11 * n01 - a12 * n02
  const u11 = -a10 * n01 + g11 * n11 - a12 * n12
  const u12 = -a10 * n02 + g11 * n12 - a12 * n22
  out[outFrom + 3] = b00 * a00 + b01 * a01 + b02 * a02 + u00 * g00 - u01 * a01 - u02 * a02
  out[outFrom + 4] = b00 * a10 + b01 * a11 + b02 * a12 - u00 * a10 + u01 * g11 - u02 * a12
  out[outFrom + 5] = b10 * a10 + b11 * a11 + b12 * a12 - u10 * a10 + u11 * g11 - u12 * a12
  out[outFrom + 6] = u02
  out[outFrom + 7] = u12
  out[outFrom + 8] = n22
}

/** Smoothed states from filtered ones, in the same layout. */
export function smoothPass(columns: Columns, { jumps }: Course, { state }: Pass, out: Float64Array): Float64Array {
  const { size, months, wanderVar, wanderCov } = columns
  if (size === 0) return out
  const last = stride * (size - 1)
  for (let k = 0; k < stride; k += 1) out[last + k] = state[last + k] as number
  for (let i = size - 2; i >= 0; i -= 1) {
    const dt = (months[i + 1] as number) - (months[i] as number)
    const at = 3 * (i + 1)
    const gap = {
      varEmpty: wanderVar * dt + (jumps === null ? 0 : (jumps[at] as number)),
      cov: wanderCov * dt + (jumps === null ? 0 : (jumps[at + 1] as number)),
      varLimit: wanderVar * dt + (jumps === null ? 0 : (jumps[at + 2] as number)),
    }
    smoothStep(state, stride * i, gap, out, stride * (i + 1), out, stride * i)
  }
  return out
}

/**
 * Sets every stand-in anew from what all other weighings say: the smoothed state with the present stand-in taken out
 * again. A weighing that was read as a slip of the pressure keeps its stand-in.
 */
export function resettle(columns: Columns, { effect }: Course, smoothed: Float64Array, sites: Sites): void {
  for (let i = 0; i < columns.size; i += 1) {
    const s = sites.share[i] as number
    if (s !== columns.share[i]) continue
    const at = stride * i
    const e = 1 - s
    const reach = effect === null ? 0 : (effect[i] as number)
    const p00 = smoothed[at + 3] as number
    const p01 = smoothed[at + 4] as number
    const p11 = smoothed[at + 5] as number
    const p02 = smoothed[at + 6] as number
    const p12 = smoothed[at + 7] as number
    const p22 = smoothed[at + 8] as number
    const mean = e * (smoothed[at] as number) + s * (smoothed[at + 1] as number) + reach * (smoothed[at + 2] as number)
    const variance =
      e * e * p00 + s * s * p11 + reach * reach * p22 + 2 * (e * s * p01 + e * reach * p02 + s * reach * p12)
    const r = sites.variance[i] as number
    // Taking an observation of variance r out of a marginal: its precision is subtracted.
    const left = r - variance
    if (!(left > 1e-6 * r)) continue
    const without = (variance * r) / left
    const meanWithout = mean + (variance / left) * (mean - (sites.value[i] as number))
    // Elsewhere on the line its own weighing hardly counts: the smoothed state stands in.
    setSite(columns, sites, i, meanWithout, without, smoothed)
  }
}
