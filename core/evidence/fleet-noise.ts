import { highestAt } from '#core/line/highest.ts'
import type { FleetEstimates, FleetFigure } from '#core/evidence/estimates.ts'
import type { Check, LineLife } from '#core/evidence/line-life.ts'
import { median } from '#core/line/statistics.ts'
import { type Innovation, type TwoWeights, type Wander, innovate, updateState, wanderOn } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

const mostLines = 400
const fewestLines = 12
const fewestChecks = 150
const shortestSpanMs = 120 * 86_400_000
const wildMiss = 5
const wildSquare = 3

/**
 * What one line teaches about noise, in numbers alone: the line and its history are let go, since those of a large
 * fleet fill the memory.
 */
export interface NoiseLesson {
  readonly b: number
  readonly levelingPsi: number
  /** Variance that the declared uncertainties give its first point, lb². */
  readonly declaredLb2: number
  /** chi² over its 95 % quantile; 0 where two points leave none. */
  readonly disagreement: number
  readonly start: TwoWeights
  readonly calibratedAt: number
  readonly wander: Wander
  readonly checks: readonly Pick<Check, 'at' | 'share' | 'weightLb' | 'varOtherLb2'>[]
}

/** The lesson of a line; none where its checks are too few or span too short a time. */
export function noiseLessons({ line, start, wander, levelingPsi, checks }: LineLife): NoiseLesson[] {
  const [first] = checks
  const last = checks.at(-1)
  if (!first || !last || checks.length < 4 || last.at - first.at < shortestSpanMs) return []
  const { b, chi2, chi2Limit95 } = line.fit
  const [point] = line.points
  return [
    {
      b,
      levelingPsi,
      calibratedAt: line.calibration.calibratedAt,
      start: { ...start },
      wander: { ...wander },
      declaredLb2: point ? point.uy ** 2 + (b * point.ux) ** 2 : 0,
      disagreement: chi2Limit95 === null ? 0 : chi2 / chi2Limit95,
      checks: checks.map(({ at, share, weightLb, varOtherLb2 }) => ({ at, share, weightLb, varOtherLb2 })),
    },
  ]
}

interface Noise {
  readonly levelingPsi: number
  readonly wanderPsi: number
}

/** Walks a track through the checks of a line: every innovation under a noise, the misses measured against it. */
function innovations(
  { b, calibratedAt, checks }: NoiseLesson,
  start: TwoWeights,
  wander: Wander,
  levelingPsi: number,
  visit: (innovation: Innovation) => void,
): void {
  let state = start
  let from = calibratedAt
  const levelingLb2 = (b * levelingPsi) ** 2
  for (const { at, share, weightLb, varOtherLb2 } of checks) {
    state = wanderOn(state, wander, at - from)
    from = Math.max(from, at)
    const innovation = innovate(state, share, weightLb, varOtherLb2 + levelingLb2)
    visit(innovation)
    state = updateState(state, share, innovation)
  }
}

/**
 * Log-likelihood of the checks of one line under a noise: the sum over its innovations of -½ (ln S + miss²/S), the
 * prediction error decomposition of the Kalman filter.
 */
function logLikelihood(lesson: NoiseLesson, { levelingPsi, wanderPsi }: Noise): number {
  const { b, start, declaredLb2 } = lesson
  // The line's own covariance follows the variance of its points, which the leveling repeatability sets.
  const factor =
    declaredLb2 > 0 ? (declaredLb2 + b * b * (levelingPsi ** 2 - lesson.levelingPsi ** 2)) / declaredLb2 : 1
  const scaled = {
    ...start,
    varEmpty: start.varEmpty * factor,
    varLimit: start.varLimit * factor,
    cov: start.cov * factor,
  }
  let sum = 0
  innovations(lesson, scaled, { psiPerRootMonth: wanderPsi, slopeLbPerPsi: b }, levelingPsi, ({ uMissLb, z }) => {
    sum -= Math.log(uMissLb) + (z * z) / 2
  })
  return sum
}

/**
 * The standardised misses of a line under the present figures: their mean square, 1 for noise alone, and the largest.
 */
function missesOf(lesson: NoiseLesson): { square: number; largest: number } {
  let squares = 0
  let largest = 0
  innovations(lesson, lesson.start, lesson.wander, lesson.levelingPsi, ({ z }) => {
    largest = Math.max(largest, Math.abs(z))
    squares += z * z
  })
  return { square: squares / lesson.checks.length, largest }
}

/**
 * The lines that look like noise alone, so that they may teach what the noise is. Measured against the middle one of
 * all, not against the House Rules: a fleet that levels worse than they say is noisy, not broken.
 */
function quietOnes(lessons: readonly NoiseLesson[]): NoiseLesson[] {
  const judged = lessons.map((lesson) => ({ lesson, ...missesOf(lesson) }))
  const usual = Math.max(1, median(judged.map(({ square }) => square)))
  return judged.flatMap(({ lesson, square, largest }) =>
    lesson.disagreement <= usual && largest <= wildMiss * Math.sqrt(usual) && square < wildSquare * usual
      ? [lesson]
      : [],
  )
}

const levelingBounds = [Math.log(0.05), Math.log(5)] as const
const wanderBounds = [Math.log(0.005), Math.log(1)] as const
/** To a thousandth of the interval. */
const highest = (f: (x: number) => number, [low, high]: readonly [low: number, high: number]): number =>
  highestAt(f, low, high, (high - low) / 1000)

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
 * psi per root month. Source: prediction error decomposition, F. C. Schweppe, IEEE Trans. IT-11 (1965) 61 (from
 * memory).
 */
export function fleetNoise(
  lessons: readonly NoiseLesson[],
  rules: HouseRules,
): Pick<FleetEstimates, 'leveling' | 'wander'> {
  const step = Math.max(1, Math.ceil(lessons.length / mostLines))
  const sample = quietOnes(lessons.filter((_, i) => i % step === 0))
  const checks = sample.reduce((sum, lesson) => sum + lesson.checks.length, 0)
  if (sample.length < fewestLines || checks < fewestChecks) {
    return {
      leveling: { value: rules.levelingPsi, u: null, checks },
      wander: { value: rules.wanderPsi, u: null, checks },
    }
  }
  const total = (leveling: number, wander: number) =>
    sample.reduce(
      (sum, lesson) => sum + logLikelihood(lesson, { levelingPsi: Math.exp(leveling), wanderPsi: Math.exp(wander) }),
      0,
    )
  let leveling = Math.log(rules.levelingPsi)
  let wander = Math.log(rules.wanderPsi)
  for (let round = 0; round < 3; round += 1) {
    leveling = highest((x) => total(x, wander), levelingBounds)
    wander = highest((x) => total(leveling, x), wanderBounds)
  }
  const figure = (x: number, high: number, f: (x: number) => number): FleetFigure => ({
    value: Math.exp(x),
    u: uncertaintyAt(f, x, high),
    checks,
  })
  return {
    leveling: figure(leveling, levelingBounds[1], (x) => total(x, wander)),
    wander: figure(wander, wanderBounds[1], (x) => total(leveling, x)),
  }
}
