import type { CalibrationFacts, GroupFacts, Observation, ScaleFacts } from '#core/evidence/history.ts'
import { type LiftOfPoints, liftOfPoints } from '#core/evidence/lift.ts'
import { circuitShares } from '#core/evidence/pressure.ts'
import { type LineCircuits, circuitsOfPoints, readPressure } from '#core/evidence/read-pressure.ts'
import { type Fit, type Line, type Point, fitLine } from '#core/line/fit.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Result, ok, refuse } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * Standard uncertainty of one ticket weight as a calibration point, in lb: rounding to the division (rectangular,
 * half-width d/2, so d/√12) and the repeatability of the weighing (fuel, people aboard, position on the platform).
 *
 * The scale's own error is not here: it is common to all tickets of the scale, see `scaleShifts`.
 * Source: JCGM 100:2008 (GUM) 4.3.7 for the rectangular half-width.
 */
export function ticketUncertaintyLb(divisionLb: number, repeatabilityLb: number): number {
  return Math.hypot(divisionLb / Math.sqrt(12), repeatabilityLb)
}

/**
 * Standard uncertainty of a group's pressure, in psi: the resolution of each sensor (r/√12, independent between
 * circuits, weighted as the circuits are) and the leveling repeatability, which the circuits of one group share since
 * one valve or its twin levels them.
 *
 * A sensor's constant offset and gain error are not noise: the line absorbs them while the same sensor stays. Its
 * stated accuracy therefore does not enter.
 */
export function pressureUncertaintyPsi(
  resolutionsPsi: readonly number[],
  shares: readonly number[],
  levelingPsi: number,
): number {
  let variance = levelingPsi * levelingPsi
  for (const [i, resolutionPsi] of resolutionsPsi.entries()) {
    const part = (resolutionPsi * (shares[i] ?? 0)) / Math.sqrt(12)
    variance += part * part
  }
  return Math.sqrt(variance)
}

/** Relative standard uncertainty of a scale's gain, from its tolerance in percent as a rectangular half-width. */
export const scaleGainUncertainty = (tolerancePercent: number): number => tolerancePercent / 100 / Math.sqrt(3)

/** Division of a scale in lb: its own, or the House Rules' where it is not recorded. */
export const divisionOf = (scale: ScaleFacts | undefined, rules: HouseRules): number =>
  scale?.divisionLb ?? rules.scaleDivisionLb

/** Tolerance of a scale in percent: its own, or the House Rules' where it is not recorded. */
export const toleranceOf = (scale: ScaleFacts | undefined, rules: HouseRules): number =>
  scale?.tolerancePercent ?? rules.scaleTolerancePercent

/** A calibration point ready to fit, with where it came from. x psi gauge, y lb. */
export interface CalibrationPoint extends Point {
  readonly observation: Observation
  readonly scaleId: number
}

/**
 * The line of one calibration. `fit` follows from the declared uncertainties alone; `line` is what the weights use: the
 * same a and b, the covariance widened by chi²/dof where the points disagree, and the scales' own errors added.
 */
export interface CalibratedLine extends LineCircuits {
  readonly calibration: CalibrationFacts
  readonly points: readonly CalibrationPoint[]
  readonly fit: Fit
  readonly line: Line
  /** The scales' part of `line`, kept apart because other lines share it. */
  readonly scaleShifts: readonly ScaleShift[]
  /** 1, or √(chi²/dof) where chi² exceeds its 95 % quantile. */
  readonly widenedBy: number
  readonly lift: LiftOfPoints
  /** The first of its points, ms: it describes the group from then on. */
  readonly holdsFrom: number
}

export type ScaleLookup = (scaleId: number) => ScaleFacts | undefined

/**
 * From when on work breaks the line of a calibration, ms: its own time, or its first weighing where it is dated before,
 * as when only the day was entered.
 */
export const settledAt = ({ calibratedAt, points }: CalibrationFacts): number =>
  points.length === 0 ? calibratedAt : Math.max(calibratedAt, Math.min(...points.map(({ takenAt }) => takenAt)))

/**
 * What one standard uncertainty of a scale's gain does to a line fitted on its tickets: a moves by da lb, b by db
 * lb/psi.
 */
export interface ScaleShift {
  readonly scaleId: number
  readonly da: number
  readonly db: number
}

/**
 * The shifts of a fitted line by the gain errors of the scales behind its points. A gain error g moves all weights of
 * its scale together by g · y, and the coefficients by g · Σ (∂(a,b)/∂y) y over those points, to first order
 * C [W, W x]ᵀ with C the fit's covariance (as declared, not widened) and W the points' weights. Scales err
 * independently.
 */
export function scaleShifts(
  fit: Line,
  points: readonly (Point & { readonly scaleId: number })[],
  gainOf: (scaleId: number) => number,
): ScaleShift[] {
  const shifts = new Map<number, { da: number; db: number }>()
  for (const { x, y, ux, uy, scaleId } of points) {
    const w = 1 / (uy * uy + fit.b * fit.b * ux * ux)
    const shift = shifts.get(scaleId) ?? { da: 0, db: 0 }
    shift.da += w * y * (fit.uA * fit.uA + fit.covAB * x)
    shift.db += w * y * (fit.covAB + fit.uB * fit.uB * x)
    shifts.set(scaleId, shift)
  }
  return Array.from(shifts, ([scaleId, { da, db }]) => ({
    scaleId,
    da: da * gainOf(scaleId),
    db: db * gainOf(scaleId),
  }))
}

/** The line with the scales' own errors added to its covariance. */
function addShifts(line: Line, shifts: readonly ScaleShift[]): Line {
  let varA = line.uA * line.uA
  let varB = line.uB * line.uB
  let covAB = line.covAB
  for (const { da, db } of shifts) {
    varA += da * da
    varB += db * db
    covAB += da * db
  }
  return { a: line.a, b: line.b, uA: Math.sqrt(varA), uB: Math.sqrt(varB), covAB }
}

/** What keeps a point from being fitted. */
const incompletePoint = (readingId: number) =>
  refuse({
    code: 'point-incomplete',
    field: 'reading',
    value: String(readingId),
    accepted: phrase('a reading of the group with its ticket weight'),
    message: phrase('A point of this calibration lacks the pressure or the ticket weight of the group.'),
  })

/** Pressures this close are one and the same to any sensor, psi. */
const finestPsi = 0.01

/** Pressures that differ by less than the sensors resolve, psi, make no slope, however they differ in their digits. */
function tooClose(points: readonly CalibrationPoint[], resolvedPsi: number) {
  const pressures = points.map(({ x }) => x)
  const span = Math.max(...pressures) - Math.min(...pressures)
  const needed = Math.max(resolvedPsi, finestPsi)
  if (!(span > 0) || span >= needed) return undefined
  return refuse({
    code: 'too-close',
    field: 'psi',
    value: String(needed),
    accepted: phrase('pressures that lie {needed} psi or more apart', { needed }),
    message: phrase(
      'The pressures of all points are closer together than the sensor tells apart; {needed} psi or more apart is needed.',
      { needed },
    ),
  })
}

/**
 * Fits the line of one calibration of a group from its tickets and readings, with the uncertainty budget of the House
 * Rules. It rests on the circuits that were read in all its points. Refused (as a value) when a point has no pressure
 * or weight, when the elevation of an absolute sensor is not known, when no sensor tells its pressures apart, or when
 * `fitLine` refuses the points.
 */
export function calibrateGroup(
  group: Pick<GroupFacts, 'circuits'>,
  calibration: CalibrationFacts,
  scaleOf: ScaleLookup,
  rules: HouseRules,
  levelingPsi = rules.levelingPsi,
): Result<CalibratedLine> {
  const circuits = circuitsOfPoints(group, calibration.points)
  const shares = circuitShares(circuits.map((place) => group.circuits[place]?.airSprings ?? null))
  const unread = calibration.points.find(({ psi }) => psi.every((each) => each === null))
  if (unread) return incompletePoint(unread.readingId)
  const points: CalibrationPoint[] = []
  let resolvedPsi = 0
  for (const observation of calibration.points) {
    const { weightLb, scaleId, readingId } = observation
    const pressure = readPressure(group, { circuits, shares }, observation, rules.pressureResolutionPsi)
    if ('reason' in pressure && pressure.reason === 'elevation unknown') {
      return refuse({
        code: 'elevation-unknown',
        field: 'elevation_ft',
        value: pressure.serial,
        accepted: phrase('the elevation of the reading, of its scale or of the yard, in ft'),
        message: phrase(
          'Its sensor reads absolute pressure, and the elevation of a point of this calibration is not on record.',
        ),
      })
    }
    if ('reason' in pressure || weightLb === null || scaleId === null) return incompletePoint(readingId)
    const division = divisionOf(scaleOf(scaleId), rules)
    // The width of the one step that has the variance of all steps together.
    resolvedPsi = Math.max(resolvedPsi, Math.sqrt(12 * pressure.resolutionVarPsi2))
    points.push({
      x: pressure.psi,
      y: weightLb,
      ux: Math.sqrt(pressure.resolutionVarPsi2 + levelingPsi * levelingPsi),
      uy: ticketUncertaintyLb(division, rules.ticketRepeatabilityLb) || 1,
      observation,
      scaleId,
    })
  }
  const close = tooClose(points, resolvedPsi)
  if (close) return close
  const fitted = fitLine(points)
  if (!fitted.ok) return fitted
  const fit = fitted.value
  const widenedBy = fit.chi2Limit95 !== null && fit.chi2 > fit.chi2Limit95 ? Math.sqrt(fit.chi2 / fit.dof) : 1
  const widened: Line = {
    a: fit.a,
    b: fit.b,
    uA: fit.uA * widenedBy,
    uB: fit.uB * widenedBy,
    covAB: fit.covAB * widenedBy * widenedBy,
  }
  const shifts = scaleShifts(fit, points, (id) => scaleGainUncertainty(toleranceOf(scaleOf(id), rules)))
  return ok({
    calibration,
    points,
    fit,
    circuits,
    shares,
    widenedBy,
    line: addShifts(widened, shifts),
    scaleShifts: shifts,
    lift: liftOfPoints(calibration.points.map(({ lift }) => lift)),
    holdsFrom: Math.min(calibration.calibratedAt, ...calibration.points.map(({ takenAt }) => takenAt)),
  })
}
