import {
  type CalibratedLine,
  type ScaleLookup,
  type ScaleShift,
  calibrateGroup,
  mountAt,
  settledAt,
} from '#core/evidence/calibrate.ts'
import { type GroupFacts, type GroupHistory, type Observation, isSensed } from '#core/evidence/history.ts'
import { type LiftOfPoints, liftFits, liftOfPoints } from '#core/evidence/lift.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { referencePressures } from '#core/evidence/line-life.ts'
import { circuitShares, gaugePsi } from '#core/evidence/pressure.ts'
import { lineBreaks } from '#core/evidence/breaks.ts'
import type { Line } from '#core/line/fit.ts'
import { readState, shareOf, wanderCovariance } from '#core/line/track.ts'
import { type CorrelatedWeight, varianceLb2 } from '#core/weight/correlated.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { WhyUnweighed } from '#core/words/sentences/unweighed.ts'
import type { EventKind } from '#core/words/vocabulary.ts'

/** Variance in lb² by which a line may have wandered `days` after its calibration, at a gauge pressure in psi. */
export type WanderVariance = (psi: number, days: number) => number

/** Something that ended every earlier line of the group: recorded work or a sensor that came onto a circuit. */
export interface LineEnd {
  readonly at: number
  readonly kind: EventKind
  /** Of the sensor that was mounted; null for recorded work. */
  readonly serial: string | null
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

const dayMs = 86_400_000

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

/** What weighing reads of an observation; psi as read, in the order of the group's circuits. */
export type PressureReading = Pick<Observation, 'takenAt' | 'elevationFt' | 'lift' | 'psi'>

/** Fits a group's lines once, so that each reading costs a few arithmetic operations. */
export function prepareGroup(history: GroupHistory, terms: WeighingTerms): PreparedGroup {
  const { rules, levelingPsi = rules.levelingPsi } = terms
  return {
    groupId: history.groupId,
    unit: history.unit,
    group: history.group,
    circuits: history.circuits,
    sensed: isSensed(history),
    lines: weighingLines(history, terms),
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

/** The newest line that holds at a time and in a lift state, or why there is none. */
export function lineFor(
  group: PreparedGroup,
  { takenAt, lift }: Pick<PressureReading, 'takenAt' | 'lift'>,
): WeighingLine | UnweighedGroup {
  let other: WeighingLine | undefined
  for (let i = group.lines.length - 1; i >= 0; i -= 1) {
    const line = group.lines[i] as WeighingLine
    if (line.holdsFrom > takenAt) continue
    if (!liftFits(line.lift, lift)) {
      other ??= line
      continue
    }
    if (line.end !== null && takenAt >= line.end.at) {
      const { at, kind, serial } = line.end
      return unweighed(group, 'upset', [
        'line ended',
        { name: nameOf(group), at, kind, serial, calibratedAt: line.calibratedAt },
      ])
    }
    return line
  }
  if (other) {
    return unweighed(group, 'other lift state', [
      'other lift state',
      { name: nameOf(group), calibrated: String(other.lift), read: lift },
    ])
  }
  const first = group.lines[0]
  return unweighed(
    group,
    'no line',
    first
      ? ['before its first line', { name: nameOf(group), firstAt: first.calibratedAt }]
      : ['no line', { name: nameOf(group) }],
  )
}

/**
 * The gauge pressure with the variance of the reading itself, psi and psi²; or why there is none. As `groupPressure`,
 * without its lists.
 */
function pressureFor(
  group: PreparedGroup,
  line: WeighingLine,
  { takenAt, elevationFt, psi }: PressureReading,
): { psi: number; varPsi2: number } | UnweighedGroup {
  let mean = 0
  let varPsi2 = group.levelingVarPsi2
  for (let i = 0; i < line.circuits.length; i += 1) {
    const place = line.circuits[i] as number
    const circuit = group.circuits[place] as PreparedGroup['circuits'][number]
    const raw = psi[place]
    if (raw === null || raw === undefined) {
      return unweighed(
        group,
        'no pressure',
        group.circuits.length > 1
          ? ['circuit not read', { name: nameOf(group), circuit: circuit.name }]
          : ['no pressure', { name: nameOf(group) }],
      )
    }
    const mount = mountAt(circuit, takenAt)
    const reference = mount?.reference ?? 'gauge'
    if (reference === 'absolute' && elevationFt === null) {
      return unweighed(group, 'elevation unknown', [
        'no elevation',
        { name: nameOf(group), serial: mount?.serial ?? null },
      ])
    }
    const share = line.shares[i] as number
    const resolution = share * (mount?.resolutionPsi ?? group.resolutionPsi)
    mean += share * gaugePsi(raw, reference, elevationFt)
    varPsi2 += (resolution * resolution) / 12
  }
  return { psi: mean, varPsi2 }
}

/**
 * Weighs a group from a reading through the line that holds at its time and lift state:
 *   W = a + b p,   u²(W) = u²(a) + p² u²(b) + 2 p cov(a,b) + wander(p, days) + b² u²(p).
 *
 * u(a), u(b), cov(a,b): the line's, with the scales' gain errors kept apart as shared parts. wander: what the line may
 * have moved by since its calibration. u(p): leveling repeatability and the sensors' resolution. Where several lines
 * hold, the newest weighs; a line holds from its first point to the first break after its calibration, in the lift
 * state of its points (unknown and 'none' fit either). A reading that lacks a circuit of the line is not weighed: the
 * circuits' mean without it is another quantity.
 *
 * Units: psi as read, lb, k = 1. Errors as values: an unweighed group with its reason and a sentence.
 * Source: JCGM 100:2008 (GUM) 5.2.2, equation (13).
 */
export function weighGroup(group: PreparedGroup, reading: PressureReading): GroupWeighing {
  if (!group.sensed) return unweighed(group, 'not measured', ['no circuit', { name: nameOf(group) }])
  const line = lineFor(group, reading)
  if ('reason' in line) return line
  const pressure = pressureFor(group, line, reading)
  if ('reason' in pressure) return pressure
  const { psi, varPsi2 } = pressure
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
    ends: lineBreaks(history, Number.NEGATIVE_INFINITY),
    wanderOf: (line) => wanderOf(line, limitLb, wanderPsi),
  })
}
