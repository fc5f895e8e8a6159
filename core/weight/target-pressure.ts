import { pressureUncertaintyPsi } from '#core/evidence/calibrate.ts'
import { mountAt } from '#core/evidence/read-pressure.ts'
import type { Line } from '#core/line/fit.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { type Verdict, judgeWeight, oneSidedFactor } from '#core/weight/verdict.ts'
import type { PreparedGroup, WeighingLine } from '#core/weight/weigh.ts'
import { dayMs } from '#core/words/instant.ts'

const mostSteps = 100
/** Width of the first chord and smallest step worth taking, psi; no gauge shows a millionth of either. */
const firstChordPsi = 1e-3
const smallestStepPsi = 1e-9

/**
 * The highest gauge pressure at which the group is still `under` its limit at the confidence: the root of
 *   a + b p + k u(p) = limit,   u²(p) = u²(a) + p² u²(b) + 2 p cov(a,b) + b² u²(reading) + wander(p),   k = Φ⁻¹(c).
 * The left side is convex in p (a line plus a hyperbola), so there is one root or none, and a chord through two points
 * above it meets zero above it too: from the pressure at the limit the chords fall onto the root, by halving where
 * rounding stops them. Precision: 2e-9 psi, on the side that is under.
 *
 * Units: psi gauge, lb, lb². Range: slope above zero, limit above zero, uPsi ≥ 0.
 * Errors: undefined where even the lightest load is not surely under (the line is too uncertain to load by) or the
 * slope is not positive; RangeError outside the ranges of `predictWeight` and `oneSidedFactor`.
 * Source: JCGM 106:2012, 8.3 for the guard band; JCGM 100:2008 5.2.2 for u(p).
 */
export function targetPressurePsi(
  line: Line,
  limitLb: number,
  confidencePercent: number,
  uPsi: number,
  wanderLb2: (psi: number) => number = () => 0,
): number | undefined {
  if (!(line.b > 0)) return undefined
  const k = oneSidedFactor(confidencePercent)
  const excessLb = (psi: number): number => {
    const { value, u } = predictWeight(line, psi, uPsi)
    return value + k * Math.sqrt(u * u + wanderLb2(psi)) - limitLb
  }
  let under = Math.max(0, -line.a / line.b)
  let above = pressureAtWeight(line, limitLb).value
  let excessAbove = excessLb(above)
  if (excessAbove <= 0) return above
  if (!(under < above && excessLb(under) <= 0)) return undefined
  let before = above + firstChordPsi
  let excessBefore = excessLb(before)
  for (let step = 0; step < mostSteps && above - under > 2 * smallestStepPsi; step += 1) {
    const chord = above - (excessAbove * (before - above)) / (excessBefore - excessAbove)
    // A step past the root by less than rounding: one just below it closes the bracket.
    const next =
      chord > under && chord < above
        ? Math.max(under, Math.min(chord, above - smallestStepPsi))
        : under + (above - under) / 2
    const excess = excessLb(next)
    if (excess <= 0) under = next
    else {
      before = above
      excessBefore = excessAbove
      above = next
      excessAbove = excess
    }
  }
  return under
}

/**
 * Standard uncertainty of one look at a group's pressure, psi: the leveling and the resolution of the sensors mounted
 * at a time.
 */
export function readingUncertaintyPsi(group: PreparedGroup, line: WeighingLine, at: number): number {
  const resolutions = line.circuits.map((place) => {
    const circuit = group.circuits[place]
    return (circuit && mountAt(circuit, at)?.resolutionPsi) ?? group.resolutionPsi
  })
  return pressureUncertaintyPsi(resolutions, line.shares, Math.sqrt(group.levelingVarPsi2))
}

/** Days from the calibration of a line to a time. */
export const ageDays = (line: WeighingLine, at: number): number => Math.max(0, (at - line.calibratedAt) / dayMs)

/**
 * The target pressure of a group on one of its lines at a time (ms UTC): with the leveling repeatability and the
 * resolution of the sensors mounted then, and what the line may have wandered by. Units and errors as
 * `targetPressurePsi`.
 */
export function groupTargetPsi(
  group: PreparedGroup,
  line: WeighingLine,
  limitLb: number,
  confidencePercent: number,
  at: number,
): number | undefined {
  const days = ageDays(line, at)
  const { wander } = line
  return targetPressurePsi(
    line.line,
    limitLb,
    confidencePercent,
    readingUncertaintyPsi(group, line, at),
    wander === null ? undefined : (psi) => wander(psi, days),
  )
}

/** What a gauge pressure stands for. */
export interface PressureStep {
  readonly psi: number
  readonly weightLb: number
  /** Standard uncertainty of one reading at that pressure, lb. */
  readonly uLb: number
  readonly verdict: Verdict
}

/** A group's pressures turned into weights on one of its lines, in even steps, to be read off without a computer. */
export interface PressureTable {
  readonly stepPsi: number
  readonly steps: readonly PressureStep[]
  readonly limitLb: number
  /** The highest pressure that is still surely under the limit; null where the line is too uncertain to load by. */
  readonly targetPsi: number | null
  /** Standard uncertainty of a reading at the limit, lb. */
  readonly uLimitLb: number
}

const niceSteps = [1, 2, 5, 10, 20] as const
/** So far past the limit the table goes on: who stands there must see how far over it is. */
const pastLimit = 1.12

/**
 * The table of a line from the pressure of its lightest calibration weight (or a little below) to one tenth past its
 * limit, in the smallest of 1, 2, 5, 10 or 20 steps of a gauge (`gaugeStepPsi`) that needs at most `mostSteps` rows.
 *
 * Uncertainty as in `weighGroup`, k = 1; the pressure is the mean of the line's circuits by their air springs. Units:
 * psi gauge, lb; at ms UTC. Range: slope above zero; undefined otherwise.
 */
export function pressureTable(
  group: PreparedGroup,
  line: WeighingLine,
  limitLb: number,
  confidencePercent: number,
  at: number,
  mostSteps: number,
  gaugeStepPsi = 1,
): PressureTable | undefined {
  const { a, b } = line.line
  if (!(b > 0)) return undefined
  const days = ageDays(line, at)
  const uPsi = readingUncertaintyPsi(group, line, at)
  const uAt = (psi: number): number =>
    Math.sqrt(predictWeight(line.line, psi, uPsi).u ** 2 + (line.wander?.(psi, days) ?? 0))
  const last = (pastLimit * limitLb - a) / b
  const first = Math.max(0, -a / b, Math.min(line.lightestPsi, last))
  const fits = (step: number) => Math.floor(last / step) - Math.floor(first / step) + 1 <= mostSteps
  const stepPsi =
    niceSteps.map((steps) => steps * gaugeStepPsi).find(fits) ??
    Math.ceil((last - first) / mostSteps / gaugeStepPsi) * gaugeStepPsi
  const steps: PressureStep[] = []
  for (let place = Math.max(1, Math.floor(first / stepPsi)); place * stepPsi <= last; place += 1) {
    const psi = place * stepPsi
    const weightLb = a + b * psi
    const uLb = uAt(psi)
    if (weightLb >= 0)
      steps.push({ psi, weightLb, uLb, verdict: judgeWeight(weightLb, uLb, limitLb, confidencePercent).verdict })
  }
  return {
    stepPsi,
    steps,
    limitLb,
    targetPsi: groupTargetPsi(group, line, limitLb, confidencePercent, at) ?? null,
    uLimitLb: uAt((limitLb - a) / b),
  }
}
