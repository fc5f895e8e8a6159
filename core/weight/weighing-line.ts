import type { GroupHistory, Observation } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import {
  type CalibratedLine,
  type ScaleLookup,
  type ScaleShift,
  calibrateGroup,
  settledAt,
} from '#core/line/calibrate.ts'
import type { Line } from '#core/line/line.ts'
import { circuitShares } from '#core/line/pressure.ts'
import { type LiftOfPoints, liftOfPoints } from '#core/weight/lift.ts'

/** Variance in lb² by which a line may have wandered `days` after its calibration, at a gauge pressure in psi. */
export type WanderVariance = (psi: number, days: number) => number

/** Something that ended every earlier line of the group: recorded work or a sensor that came onto a circuit. */
export interface LineEnd {
  readonly at: number
  /** In the words of a sentence: "a leveling valve was replaced". */
  readonly what: string
}

/** A calibrated line made ready to weigh many readings. Times ms UTC, weights lb, pressures psi gauge. */
export interface WeighingLine {
  readonly calibrationId: number
  readonly line: Line
  /** Variances of a and b without the scales' part, which other lines share. */
  readonly ownVarA: number
  readonly ownVarB: number
  readonly ownCovAB: number
  readonly shifts: readonly ScaleShift[]
  readonly calibratedAt: number
  /** The first of its points: it describes the group from then on. */
  readonly holdsFrom: number
  readonly end: LineEnd | null
  readonly lift: LiftOfPoints
  /** Pressure of its lightest point, psi gauge. */
  readonly lightestPsi: number
  /** Places of the circuits that were read in every point, and their shares in the group's pressure. */
  readonly circuits: readonly number[]
  readonly shares: readonly number[]
  /** How far it may have wandered since its calibration; null where that is not reckoned with. */
  readonly wander: WanderVariance | null
}

function circuitsOf(history: GroupHistory, points: readonly Observation[]): number[] {
  const isRead = (point: Observation, i: number) => point.psi[i] !== null && point.psi[i] !== undefined
  const everywhere = history.circuits.flatMap((_, i) => (points.every((point) => isRead(point, i)) ? [i] : []))
  return everywhere.length > 0
    ? everywhere
    : history.circuits.flatMap((_, i) => (points.some((point) => isRead(point, i)) ? [i] : []))
}

function weighingLine(
  history: GroupHistory,
  calibrated: CalibratedLine,
  { ends, wanderOf }: WeighingTerms,
): WeighingLine {
  const { calibration, line, scaleShifts } = calibrated
  let ownVarA = line.uA * line.uA
  let ownVarB = line.uB * line.uB
  let ownCovAB = line.covAB
  for (const { da, db } of scaleShifts) {
    ownVarA -= da * da
    ownVarB -= db * db
    ownCovAB -= da * db
  }
  const circuits = circuitsOf(history, calibration.points)
  return {
    calibrationId: calibration.calibrationId,
    line,
    ownVarA,
    ownVarB,
    ownCovAB,
    shifts: scaleShifts,
    calibratedAt: calibration.calibratedAt,
    holdsFrom: Math.min(calibration.calibratedAt, ...calibration.points.map(({ takenAt }) => takenAt)),
    end: ends.find(({ at }) => at > settledAt(calibration)) ?? null,
    lightestPsi: Math.min(...calibrated.points.map(({ x }) => x)),
    lift: liftOfPoints(calibration.points.map(({ lift }) => lift)),
    circuits,
    shares: circuitShares(circuits.map((i) => history.circuits[i]?.airSprings ?? null)),
    wander: wanderOf?.(calibrated) ?? null,
  }
}

/** What weighing needs besides the record of the group. */
export interface WeighingTerms {
  readonly rules: HouseRules
  readonly scaleOf: ScaleLookup
  /** Breaks of the group's lines in the order of time; all of them, whenever they were. */
  readonly ends: readonly LineEnd[]
  /** How a line wanders; left out, it stays where it was calibrated. */
  readonly wanderOf?: (line: CalibratedLine) => WanderVariance
  /** Leveling repeatability in psi; left out, the House Rules' one. */
  readonly levelingPsi?: number
}

/**
 * All lines of a group that ever held, in the order in which they were calibrated. A calibration that makes no line is
 * left out, so that the one before it goes on. A line holds from its first point to the first break after its
 * calibration.
 */
export function weighingLines(history: GroupHistory, terms: WeighingTerms): WeighingLine[] {
  const { rules, scaleOf, levelingPsi = rules.levelingPsi } = terms
  return history.calibrations.flatMap((calibration) => {
    const calibrated = calibrateGroup(history, calibration, scaleOf, rules, levelingPsi)
    return calibrated.ok ? [weighingLine(history, calibrated.value, terms)] : []
  })
}
