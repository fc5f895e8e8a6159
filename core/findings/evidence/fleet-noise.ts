import type { FleetEstimates, FleetFigure } from '#core/findings/evidence/estimates.ts'
import type { LineLife } from '#core/findings/evidence/line-life.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { innovate, updateState, wanderOn } from '#core/line/track.ts'

const mostLives = 400
const fewestLives = 12
const fewestChecks = 150
const shortestSpanMs = 120 * 86_400_000
const wildMiss = 5

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

/** Whether a life looks like noise alone under the present figures, so that it may teach what the noise is. */
function isQuiet(life: LineLife): boolean {
  let state = life.start
  let at = life.line.calibration.calibratedAt
  let squares = 0
  for (const check of life.checks) {
    state = wanderOn(state, life.wander, check.at - at)
    at = check.at
    const innovation = innovate(state, check.share, check.weightLb, check.varLb2)
    if (Math.abs(innovation.z) > wildMiss) return false
    squares += innovation.z * innovation.z
    state = updateState(state, check.share, innovation)
  }
  return life.line.widenedBy === 1 && squares < 3 * life.checks.length
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
const bend = 0.05

/** Standard uncertainty of exp(x) from the curvature of the log-likelihood at x; as large as the value where it is flat. */
function uncertaintyAt(f: (x: number) => number, x: number): number {
  const curvature = (2 * f(x) - f(x - bend) - f(x + bend)) / (bend * bend)
  return Math.exp(x) * Math.min(1, curvature > 0 ? 1 / Math.sqrt(curvature) : 1)
}

/**
 * Leveling repeatability (psi) and wander rate (psi per root month) of the fleet by maximum likelihood over the check
 * weighings of lines that show noise alone, with standard uncertainties from the curvature of each figure's likelihood.
 * Until 12 such lines with 150 checks over four months or more are there, the House Rules' figures stand in (u null).
 *
 * Bound: at most 400 lines, evenly chosen; three rounds of one-dimensional searches within 0.05 to 5 psi and 0.005 to 1
 * psi per root month. Source: prediction error decomposition, F. C. Schweppe, IEEE Trans. IT-11 (1965) 61 (from memory).
 */
export function fleetNoise(lives: readonly LineLife[], rules: HouseRules): Pick<FleetEstimates, 'leveling' | 'wander'> {
  const fit = lives.filter(({ checks }) => checks.length >= 4
    && (checks.at(-1)?.at as number) - (checks[0]?.at as number) >= shortestSpanMs)
  const step = Math.max(1, Math.ceil(fit.length / mostLives))
  const sample = fit.filter((_, i) => i % step === 0).filter(isQuiet)
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
  const figure = (x: number, f: (x: number) => number): FleetFigure => ({ value: Math.exp(x), u: uncertaintyAt(f, x), checks })
  return { leveling: figure(leveling, (x) => total(x, wander)), wander: figure(wander, (x) => total(leveling, x)) }
}
