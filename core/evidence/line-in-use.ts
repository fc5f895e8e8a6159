import { type LineBreak, lineBreaks } from '#core/evidence/breaks.ts'
import { type CalibratedLine, type ScaleLookup, calibrateGroup, settledAt } from '#core/evidence/calibrate.ts'
import type { CalibrationFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import { type LiftOfPoints, liftFits, liftsMeet, statedLifts } from '#core/evidence/lift.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { Problem } from '#core/words/problem.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** When a line holds and in which lift state; times ms UTC. */
export interface LineHold {
  /** The first of its points: it describes the group from then on. */
  readonly holdsFrom: number
  readonly lift: LiftOfPoints
  /** The first thing after its calibration that broke it. */
  readonly end: LineBreak | null
}

/** A calibrated line with what ended it. */
export interface GroupLine extends CalibratedLine, LineHold {}

/** A calibration that makes no line, and why. */
export interface RefusedCalibration {
  readonly calibration: CalibrationFacts
  readonly problem: Problem
}

/**
 * The lines of a group in the order in which they were calibrated; a calibration that makes none leaves the one before
 * it in use.
 */
export interface GroupLines {
  readonly lines: readonly GroupLine[]
  readonly refused: readonly RefusedCalibration[]
}

export function groupLines(
  history: GroupHistory,
  scaleOf: ScaleLookup,
  rules: HouseRules,
  levelingPsi: number,
): GroupLines {
  const lines: GroupLine[] = []
  const refused: RefusedCalibration[] = []
  const breaks = lineBreaks(history, Number.NEGATIVE_INFINITY)
  for (const calibration of history.calibrations) {
    const fitted = calibrateGroup(history, calibration, scaleOf, rules, levelingPsi)
    if (!fitted.ok) {
      refused.push({ calibration, problem: fitted.problem })
      continue
    }
    const settled = settledAt(calibration)
    lines.push({ ...fitted.value, end: breaks.find(({ at }) => at > settled) ?? null })
  }
  return { lines, refused }
}

/** Why no line applies, and the line that speaks of it. */
export type NoLine<L> =
  | { readonly reason: 'no line' }
  | { readonly reason: 'upset' | 'other lift state'; readonly line: L }

/** The newest line at a time that fits a lift state, broken or not. */
const newestFitting = <L extends LineHold>(lines: readonly L[], at: number, lift: LiftState | null): L | undefined =>
  lines.findLast((line) => line.holdsFrom <= at && liftFits(line.lift, lift))

/**
 * The line that applies at a moment in a lift state: the newest one that holds by then and fits the state, unless
 * something broke it. What no line fits is 'other lift state'; an older line never stands in for a broken one.
 */
export function lineAt<L extends LineHold>(
  lines: readonly L[],
  { takenAt, lift }: Pick<Observation, 'takenAt' | 'lift'>,
): L | NoLine<L> {
  const line = newestFitting(lines, takenAt, lift)
  if (line) return line.end !== null && takenAt >= line.end.at ? { reason: 'upset', line } : line
  const other = lines.findLast(({ holdsFrom }) => holdsFrom <= takenAt)
  return other ? { reason: 'other lift state', line: other } : { reason: 'no line' }
}

/**
 * The lines in use, in the order of their calibration: the newest for each lift state, mostly one for all of them. A
 * newest line whose points mix both states counts too, though nothing can be weighed with it.
 */
export function linesInUse<L extends LineHold>(lines: readonly L[]): L[] {
  const used = new Set(statedLifts.map((lift) => newestFitting(lines, Number.POSITIVE_INFINITY, lift)))
  const newest = lines.at(-1)
  return lines.filter((line) => used.has(line) || (line === newest && line.lift === 'both'))
}

/** The line that took over from the one at a place in every lift state it held in; undefined while it is in use. */
export function successorOf<L extends LineHold>(lines: readonly L[], place: number): L | undefined {
  const line = lines[place]
  if (line === undefined) return undefined
  const later = lines.slice(place + 1)
  const states = statedLifts.filter((lift) => liftFits(line.lift, lift))
  if (states.length === 0) return later[0]
  const places = states.map((lift) => later.findIndex((each) => liftFits(each.lift, lift)))
  return places.includes(-1) ? undefined : later[Math.max(...places)]
}

/** The newest earlier line that the one at a place took over from, in some lift state. */
export const predecessorOf = <L extends Pick<LineHold, 'lift'>>(lines: readonly L[], place: number): L | undefined =>
  lines.slice(0, place).findLast(({ lift }) => liftsMeet(lift, lines[place]?.lift ?? null))
