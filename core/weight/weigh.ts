import type { CalibratedLine, ScaleLookup, ScaleShift } from '#core/evidence/calibrate.ts'
import { type GroupFacts, type GroupHistory, isSensed } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { type GroupLine, type LineHold, groupLines, lineAt } from '#core/evidence/line-in-use.ts'
import { referencePressures } from '#core/evidence/line-life.ts'
import { type LineCircuits, type NoPressure, type PressureReading, readPressure } from '#core/evidence/read-pressure.ts'
import type { Line } from '#core/line/fit.ts'
import { readState, shareOf, wanderCovariance } from '#core/line/track.ts'
import { type CorrelatedWeight, varianceLb2 } from '#core/weight/correlated.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { dayMs } from '#core/words/instant.ts'
import type { WhyUnweighed } from '#core/words/sentences/unweighed.ts'

/** Variance in lb² by which a line may have wandered `days` after its calibration, at a gauge pressure in psi. */
export type WanderVariance = (psi: number, days: number) => number

/** A calibrated line made ready to weigh many readings. Times ms UTC, weights lb, pressures psi gauge. */
export interface WeighingLine extends LineHold, LineCircuits {
  readonly calibrationId: number
  readonly line: Line
  /** Variances of a and b without the scales' part, which other lines share. */
  readonly ownVarA: number
  readonly ownVarB: number
  readonly ownCovAB: number
  readonly shifts: readonly ScaleShift[]
  readonly calibratedAt: number
  /** Pressure of its lightest point, psi gauge. */
  readonly lightestPsi: number
  /** How far it may have wandered since its calibration; null where that is not reckoned with. */
  readonly wander: WanderVariance | null
}

function weighingLine(calibrated: GroupLine, { wanderOf }: WeighingTerms): WeighingLine {
  const { calibration, line, scaleShifts, points, holdsFrom, end, lift, circuits, shares } = calibrated
  let ownVarA = line.uA * line.uA
  let ownVarB = line.uB * line.uB
  let ownCovAB = line.covAB
  for (const { da, db } of scaleShifts) {
    ownVarA -= da * da
    ownVarB -= db * db
    ownCovAB -= da * db
  }
  return {
    calibrationId: calibration.calibrationId,
    calibratedAt: calibration.calibratedAt,
    line,
    ownVarA,
    ownVarB,
    ownCovAB,
    shifts: scaleShifts,
    holdsFrom,
    end,
    lift,
    circuits,
    shares,
    lightestPsi: Math.min(...points.map(({ x }) => x)),
    wander: wanderOf?.(calibrated) ?? null,
  }
}

/** What weighing needs besides the record of the group. */
export interface WeighingTerms {
  readonly rules: HouseRules
  readonly scaleOf: ScaleLookup
  /** How a line wanders; left out, it stays where it was calibrated. */
  readonly wanderOf?: (line: CalibratedLine) => WanderVariance
  /** Leveling repeatability in psi; left out, the House Rules' one. */
  readonly levelingPsi?: number
}

/** Why a group has no weight, for a program; `why` says it to a person. */
const unweighedReasons = [
  'not measured',
  'no line',
  'other lift state',
  'upset',
  'no pressure',
  'elevation unknown',
  'below nothing',
  'no estimate',
] as const
export type UnweighedReason = (typeof unweighedReasons)[number]

/** How a weight was come by. */
export type WeightSource = 'line' | 'estimate' | 'ticket' | 'raised'

export interface WeighedGroup {
  readonly weighed: true
  readonly groupId: number
  readonly source: WeightSource
  readonly weight: CorrelatedWeight
  readonly weightLb: number
  /** Standard uncertainty, lb, all parts together. */
  readonly uLb: number
  /** The group's gauge pressure with its own standard uncertainty, and the line, where a line weighed it. */
  readonly psi: number | null
  readonly uPsi: number | null
  readonly line: WeighingLine | null
}

export interface UnweighedGroup {
  readonly weighed: false
  readonly groupId: number
  readonly reason: UnweighedReason
  readonly why: WhyUnweighed
}

export type GroupWeighing = WeighedGroup | UnweighedGroup

/** A group made ready once to weigh any number of readings; see `prepareGroup`. */
export interface PreparedGroup extends Pick<GroupFacts, 'groupId' | 'unit' | 'group' | 'circuits'> {
  readonly sensed: boolean
  readonly lines: readonly WeighingLine[]
  readonly levelingVarPsi2: number
  readonly resolutionPsi: number
}

/** Fits a group's lines once, so that each reading costs a few arithmetic operations. */
export function prepareGroup(history: GroupHistory, terms: WeighingTerms): PreparedGroup {
  const { rules, scaleOf, levelingPsi = rules.levelingPsi } = terms
  return {
    groupId: history.groupId,
    unit: history.unit,
    group: history.group,
    circuits: history.circuits,
    sensed: isSensed(history),
    lines: groupLines(history, scaleOf, rules, levelingPsi).lines.map((line) => weighingLine(line, terms)),
    levelingVarPsi2: levelingPsi * levelingPsi,
    resolutionPsi: rules.pressureResolutionPsi,
  }
}

const unweighed = ({ groupId }: PreparedGroup, reason: UnweighedReason, why: WhyUnweighed): UnweighedGroup => ({
  weighed: false,
  groupId,
  reason,
  why,
})

const nameOf = ({ unit, group }: PreparedGroup): string => `${unit} ${group}`

/** The line that applies at a time and in a lift state (`lineAt`), or why there is none. */
export function lineFor(
  group: PreparedGroup,
  reading: Pick<PressureReading, 'takenAt' | 'lift'>,
): WeighingLine | UnweighedGroup {
  const found = lineAt(group.lines, reading)
  if (!('reason' in found)) return found
  const name = nameOf(group)
  if (found.reason === 'other lift state')
    return unweighed(
      group,
      found.reason,
      found.line.lift === 'both'
        ? ['mixed lift states', { name }]
        : ['other lift state', { name, calibrated: found.line.lift ?? 'none', read: reading.lift }],
    )
  if (found.reason === 'upset') {
    const { end, calibratedAt } = found.line
    return unweighed(
      group,
      found.reason,
      end === null
        ? ['line broken', { name, calibratedAt }]
        : ['line ended', { name, at: end.at, kind: end.kind, serial: end.serial, calibratedAt }],
    )
  }
  const [first] = group.lines
  return unweighed(
    group,
    found.reason,
    first ? ['before its first line', { name, firstAt: first.calibratedAt }] : ['no line', { name }],
  )
}

/** Why a reading has no pressure for a line. */
function withoutPressure(group: PreparedGroup, found: NoPressure): UnweighedGroup {
  if (found.reason === 'elevation unknown') {
    return unweighed(group, found.reason, ['no elevation', { name: nameOf(group), serial: found.serial }])
  }
  return unweighed(
    group,
    found.reason,
    group.circuits.length > 1 && found.circuit
      ? ['circuit not read', { name: nameOf(group), circuit: found.circuit.name }]
      : ['no pressure', { name: nameOf(group) }],
  )
}

/**
 * Weighs a group from a reading through the line that holds at its time and lift state:
 *   W = a + b p,   u²(W) = u²(a) + p² u²(b) + 2 p cov(a,b) + wander(p, days) + b² u²(p).
 *
 * u(a), u(b), cov(a,b): the line's, with the scales' gain errors kept apart as shared parts. wander: what the line may
 * have moved by since its calibration. u(p): leveling repeatability and the sensors' resolution. Where several lines
 * hold, the newest weighs; a line holds from its first point to the first break after its calibration, in the lift
 * state of its points (unknown and 'none' fit either; mixed points fit none). A reading that lacks a circuit of the
 * line is not weighed: the circuits' mean without it is another quantity.
 *
 * Units: psi as read, lb, k = 1. Errors as values: an unweighed group with its reason and a sentence.
 * Source: JCGM 100:2008 (GUM) 5.2.2, equation (13).
 */
export function weighGroup(group: PreparedGroup, reading: PressureReading): GroupWeighing {
  if (!group.sensed) return unweighed(group, 'not measured', ['no circuit', { name: nameOf(group) }])
  const line = lineFor(group, reading)
  if ('reason' in line) return line
  const pressure = readPressure(group, line, reading, group.resolutionPsi)
  if ('reason' in pressure) return withoutPressure(group, pressure)
  const { psi } = pressure
  const varPsi2 = group.levelingVarPsi2 + pressure.resolutionVarPsi2
  const { a, b } = line.line
  const weightLb = a + b * psi
  if (weightLb < 0) {
    return unweighed(group, 'below nothing', ['below nothing', { name: nameOf(group), psi }])
  }
  const days = Math.max(0, (reading.takenAt - line.calibratedAt) / dayMs)
  const ownVarLb2 =
    Math.max(0, line.ownVarA + psi * (psi * line.ownVarB + 2 * line.ownCovAB)) +
    (line.wander === null ? 0 : line.wander(psi, days)) +
    b * b * varPsi2
  const gains = line.shifts.map(({ scaleId, da, db }) => ({ scaleId, lb: da + db * psi }))
  const weight: CorrelatedWeight = { weightLb, ownVarLb2, gains, follows: null }
  return {
    weighed: true,
    groupId: group.groupId,
    source: 'line',
    weight,
    weightLb,
    uLb: Math.sqrt(varianceLb2(weight)),
    psi,
    uPsi: Math.sqrt(varPsi2),
    line,
  }
}

/** What the fleet has learnt about its pressures: leveling repeatability in psi, wander in psi per root month. */
export interface PressureNoise {
  readonly levelingPsi: number
  readonly wanderPsi: number
}

/**
 * What a line may have wandered by, lb²: the track's random walk of the weights at the empty and the limit pressure,
 * read at a pressure as the track reads it (`wanderCovariance`, `readState`).
 */
function wanderOf(line: CalibratedLine, limitLb: number, wanderPsi: number): WanderVariance {
  const wander = { psiPerRootMonth: wanderPsi, slopeLbPerPsi: line.fit.b }
  const { emptyPsi, limitPsi } = referencePressures(line, limitLb)
  return (psi, days) =>
    readState({ atEmpty: 0, atLimit: 0, ...wanderCovariance(wander, days * dayMs) }, shareOf(psi, emptyPsi, limitPsi))
      .variance
}

/** Readies a group to weigh with everything its history holds: its lines, what ended them, the fleet's noise. */
export function readyGroup(
  history: GroupHistory,
  { levelingPsi, wanderPsi }: PressureNoise,
  scaleOf: ScaleLookup,
  rules: HouseRules,
): PreparedGroup {
  const limitLb = groupLimitLb(history, rules)
  return prepareGroup(history, {
    rules,
    scaleOf,
    levelingPsi,
    wanderOf: (line) => wanderOf(line, limitLb, wanderPsi),
  })
}
