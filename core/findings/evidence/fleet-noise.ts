import type { FleetEstimates, FleetFigure } from '#core/findings/evidence/estimates.ts'
import type { LineLife } from '#core/findings/evidence/line-life.ts'
import { median } from '#core/findings/evidence/robust.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { innovate, updateState, wanderOn } from '#core/line/track.ts'

const mostLives = 400
const fewestLives = 12
const fewestChecks = 150
const shortestSpanMs = 120 * 86_400_000
const wildMiss = 5
const wildSquare = 3

interface Noise {
  readonly levelingPsi: number
  readonly wanderPsi: number
}

/**
 * Log-likelihood of the checks of one life under a noise: the sum over its innovations of -½ (ln S + miss²/S), the
 * prediction error decomposition of the Kalman filter. -Infinity where a miss is wild: such a life is not noise.
 */
function logLikelihood(life: LineLife, { levelingPsi, wanderPsi }: Noise): number {
  const { b } = life.line.fit
  // The line's own covariance follows the variance of its points, which the leveling repeatability sets.
  const [point] = life.line.points
  const declared = point ? point.uy ** 2 + (b * point.ux) ** 2 : 1
  const factor = point ? (declared + b * b * (levelingPsi ** 2 - life.levelingPsi ** 2)) / declared : 1
  let state = { ...life.start, varEmpty: life.start.varEmpty * factor, varLimit: life.start.varLimit * factor, cov: life.start.cov * factor }
  const wander = { psiPerRootMonth: wanderPsi, slopeLbPerPsi: b }
  let at = life.line.calibration.calibratedAt
  let sum = 0
  for (const check of life.checks) {
    state = wanderOn(state, wander, check.at - at)
    at = check.at
    const innovation = innovate(state, check.share, check.weightLb, check.varOtherLb2 + (b * levelingPsi) ** 2)
    sum -= Math.log(innovation.uMissLb) + (innovation.z * innovation.z) / 2
    state = updateState(state, check.share, innovation)
  }
  return sum
}

/** The standardised misses of a life under the present figures: their mean square, 1 for noise alone, and the largest. */
function missesOf(life: LineLife): { square: number; largest: number } {
  let state = life.start
  let at = life.line.calibration.calibratedAt
  let squares = 0
  let largest = 0
  for (const check of life.checks) {
    state = wanderOn(state, life.wander, check.at - at)
    at = check.at
    const innovation = innovate(state, check.share, check.weightLb, check.varLb2)
    largest = Math.max(largest, Math.abs(innovation.z))
    squares += innovation.z * innovation.z
    state = updateState(state, check.share, innovation)
  }
  return { square: squares / life.checks.length, largest }
}

/**
 * The lives that look like noise alone, so that they may teach what the noise is. Measured against the middle one of all,
 * not against the House Rules: a fleet that levels worse than they say is noisy, not broken.
 */
function quietLives(lives: readonly LineLife[]): LineLife[] {
  const judged = lives.map((life) => ({ life, ...missesOf(life) }))
  const usual = Math.max(1, median(judged.map(({ square }) => square)))
  return judged.flatMap(({ life, square, largest }) => {
    const { chi2, chi2Limit95 } = life.line.fit
    const agrees = chi2Limit95 === null || chi2 <= usual * chi2Limit95
    return agrees && largest <= wildMiss * Math.sqrt(usual) && square < wildSquare * usual ? [life] : []
  })
}

/** Largest value of a one-humped function on an interval by golden sections, to a thousandth of the interval's length. */
function highest(f: (x: number) => number, low: number, high: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2
  let [left, right] = [low, high]
  let x1 = right - ratio * (right - left)
  let x2 = left + ratio * (right - left)
  let f1 = f(x1)
  let f2 = f(x2)
  while (right - left > (high - low) / 1000) {
    if (f1 < f2) {
      left = x1
      x1 = x2
      f1 = f2
      x2 = left + ratio * (right - left)
      f2 = f(x2)
    } else {
      right = x2
      x2 = x1
      f2 = f1
      x1 = right - ratio * (right - left)
      f1 = f(x1)
    }
  }
  return (left + right) / 2
}

const levelingBounds = [Math.log(0.05), Math.log(5)] as const
const wanderBounds = [Math.log(0.005), Math.log(1)] as const
/**
 * Standard uncertainty of exp(x): how far above it the log-likelihood has fallen by a half, as a normal one has after a
 * standard deviation. Unlike the curvature it tells the truth where the best value lies at the lower bound.
 */
function uncertaintyAt(f: (x: number) => number, x: number, high: number): number {
  const half = f(x) - 0.5
  let [near, far] = [x, high]
  for (let i = 0; i < 12; i += 1) {
    const middle = (near + far) / 2
    if (f(middle) > half) near = middle
    else far = middle
  }
  return Math.exp(near) - Math.exp(x)
}

/**
 * Leveling repeatability (psi) and wander rate (psi per root month) of the fleet by maximum likelihood over the check
 * weighings of lines that show noise alone, with standard uncertainties from each figure's own likelihood.
 * Until 12 such lines with 150 checks over four months or more are there, the House Rules' figures stand in (u null).
 *
 * Bound: at most 400 lines, evenly chosen; three rounds of one-dimensional searches within 0.05 to 5 psi and 0.005 to 1
 * psi per root month. Source: prediction error decomposition, F. C. Schweppe, IEEE Trans. IT-11 (1965) 61 (from memory).
 */
export function fleetNoise(lives: readonly LineLife[], rules: HouseRules): Pick<FleetEstimates, 'leveling' | 'wander'> {
  const fit = lives.filter(({ checks }) => checks.length >= 4
    && (checks.at(-1)?.at as number) - (checks[0]?.at as number) >= shortestSpanMs)
  const step = Math.max(1, Math.ceil(fit.length / mostLives))
  const sample = quietLives(fit.filter((_, i) => i % step === 0))
  const checks = sample.reduce((sum, life) => sum + life.checks.length, 0)
  if (sample.length < fewestLives || checks < fewestChecks) {
    return { leveling: { value: rules.levelingPsi, u: null, checks }, wander: { value: rules.wanderPsi, u: null, checks } }
  }
  const total = (leveling: number, wander: number) =>
    sample.reduce((sum, life) => sum + logLikelihood(life, { levelingPsi: Math.exp(leveling), wanderPsi: Math.exp(wander) }), 0)
  let leveling = Math.log(rules.levelingPsi)
  let wander = Math.log(rules.wanderPsi)
  for (let round = 0; round < 3; round += 1) {
    leveling = highest((x) => total(x, wander), ...levelingBounds)
    wander = highest((x) => total(leveling, x), ...wanderBounds)
  }
  const figure = (x: number, high: number, f: (x: number) => number): FleetFigure => ({ value: Math.exp(x), u: uncertaintyAt(f, x, high), checks })
  return { leveling: figure(leveling, levelingBounds[1], (x) => total(x, wander)), wander: figure(wander, wanderBounds[1], (x) => total(leveling, x)) }
}
