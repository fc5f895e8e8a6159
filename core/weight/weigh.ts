import type { CalibratedLine, ScaleLookup, ScaleShift } from '#core/evidence/calibrate.ts'
import { type GroupFacts, type GroupHistory, type Observation, isSensed } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { type GroupLine, type LineHold, type NoLine, groupLines, lineAt } from '#core/evidence/line-in-use.ts'
import { referencePressures } from '#core/evidence/line-life.ts'
import { isBeyondSensor } from '#core/evidence/odd-pressure.ts'
import { type LineCircuits, type NoPressure, type PressureReading, readPressure } from '#core/evidence/read-pressure.ts'
import { type StateFacts, lifeAt } from '#core/evidence/state/life-states.ts'
import type { Line } from '#core/line/fit.ts'
import { readState, shareOf, wanderCovariance } from '#core/line/track.ts'
import { type CorrelatedWeight, varianceLb2 } from '#core/weight/correlated.ts'
import {
  type LifePressure,
  type WeighingLife,
  lifeWeight,
  pressureOfLife,
  weighingLives,
} from '#core/weight/life-weight.ts'
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
  /** What the evidence of the fleet's lives is judged by; left out, only the lines weigh. */
  readonly states?: StateFacts
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

/** How a weight was come by; provisional: by the weighings since recorded work, before anybody calibrated anew. */
export type WeightSource = 'line' | 'provisional' | 'estimate' | 'ticket' | 'raised'

/** A weight with its standard uncertainty, lb, all parts together. */
export interface WeightAndU {
  readonly weight: CorrelatedWeight
  readonly weightLb: number
  readonly uLb: number
}

/** A group's best weight: what all evidence of today says. */
export interface WeighedGroup extends WeightAndU {
  readonly weighed: true
  readonly groupId: number
  readonly source: WeightSource
  /** What the line in use reads, which is what a driver's card said; a ticket's own weight; null without a line. */
  readonly byLine: WeightAndU | null
  /** No verdict about it is sure: one weighing alone speaks of a change of its line, or its pressure is odd. */
  readonly isThin: boolean
  /** Its pressure is more than the sensor can show, or its ticket tells that it was noted in another unit. */
  readonly isOddPressure: boolean
  /** By weighings since recorded work, before anybody calibrated anew; so is what is estimated from it. */
  readonly isProvisional: boolean
  /** The group's gauge pressure with its own standard uncertainty, where it was weighed by it. */
  readonly psi: number | null
  readonly uPsi: number | null
  readonly line: WeighingLine | null
}

export const withU = (weight: CorrelatedWeight): WeightAndU => ({
  weight,
  weightLb: weight.weightLb,
  uLb: Math.sqrt(varianceLb2(weight)),
})

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
  readonly lives: readonly WeighingLife[]
  readonly levelingVarPsi2: number
  readonly resolutionPsi: number
}

/** Fits a group's lines and follows its lives once, so that each reading costs a few arithmetic operations. */
export function prepareGroup(history: GroupHistory, terms: WeighingTerms): PreparedGroup {
  const { rules, scaleOf, levelingPsi = rules.levelingPsi, states } = terms
  const lines = groupLines(history, scaleOf, rules, levelingPsi).lines.map((line) => weighingLine(line, terms))
  return {
    groupId: history.groupId,
    unit: history.unit,
    group: history.group,
    circuits: history.circuits,
    sensed: isSensed(history),
    lines,
    lives:
      states === undefined
        ? []
        : weighingLives(
            history,
            lines.map(({ lift }) => lift),
            groupLimitLb(history, rules),
            states,
          ),
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

export const nameOf = ({ unit, group }: PreparedGroup): string => `${unit} ${group}`

/** Why no line applies, to a person. */
export function withoutLine(
  group: PreparedGroup,
  found: NoLine<WeighingLine>,
  reading: Pick<PressureReading, 'lift'>,
): UnweighedGroup {
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

/** A reading of a group to be weighed: pressures as read, and how warm it was. */
export type GroupReading = PressureReading & Pick<Observation, 'temperatureF'>

/**
 * What a line reads at a gauge pressure (psi) of a variance (psi²) and a time:
 *   W = a + b p,   u²(W) = u²(a) + p² u²(b) + 2 p cov(a,b) + wander(p, days) + b² u²(p).
 *
 * u(a), u(b), cov(a,b): the line's, with the scales' gain errors kept apart as shared parts. wander: what the line may
 * have moved by since its calibration. Units: ms UTC, lb, k = 1. Source: JCGM 100:2008 (GUM) 5.2.2, equation (13).
 */
export function lineWeight(line: WeighingLine, at: number, { psi, varPsi2 }: LifePressure): CorrelatedWeight {
  const { a, b } = line.line
  const days = Math.max(0, (at - line.calibratedAt) / dayMs)
  const ownVarLb2 =
    Math.max(0, line.ownVarA + psi * (psi * line.ownVarB + 2 * line.ownCovAB)) +
    (line.wander === null ? 0 : line.wander(psi, days)) +
    b * b * varPsi2
  const gains = line.shifts.map(({ scaleId, da, db }) => ({ scaleId, lb: da + db * psi }))
  return { weightLb: a + b * psi, ownVarLb2, gains, follows: null }
}

/** A weight by a life, and how its pressure was read. */
interface LifeWeighing {
  readonly weight: CorrelatedWeight
  readonly isThin: boolean
  readonly isOddPressure: boolean
  readonly psi: number
  readonly varPsi2: number
}

/** The best weight of a reading by a life; undefined where a circuit of the life was not read. */
function byLife(group: PreparedGroup, life: WeighingLife, reading: GroupReading): LifeWeighing | undefined {
  const pressure = pressureOfLife(group, life, reading, group.resolutionPsi)
  if (pressure === undefined) return undefined
  const { psi, varPsi2 } = pressure
  const { takenAt } = reading
  const other = life.inOtherUnit.get(takenAt)
  const isOddPressure = other !== undefined || isBeyondSensor(group, life.line, reading)
  const isThin = isOddPressure || takenAt > life.standing.thinFrom
  return { weight: lifeWeight(life, takenAt, pressure, other), isThin, isOddPressure, psi, varPsi2 }
}

/** What the weighings since recorded work say, or why they cannot; undefined where they carry no line by themselves. */
function weighProvisionally(
  group: PreparedGroup,
  broken: WeighingLine,
  reading: GroupReading,
): LifeWeighing | UnweighedGroup | undefined {
  const life = lifeAt(group.lives, broken.lift, reading)
  if (life?.carries !== true) return undefined
  const read = readPressure(group, life.line, reading, group.resolutionPsi)
  return 'reason' in read ? withoutPressure(group, read) : byLife(group, life, reading)
}

/**
 * Weighs a group from a reading: what the line of its time and lift state reads, and the best weight, which is what all
 * evidence of the line's life says of that pressure.
 *
 * Where several lines hold, the newest weighs; a line holds from its first point to the first break after its
 * calibration, in the lift state of its points (unknown and 'none' fit either; mixed points fit none). A reading that
 * lacks a circuit of the line is not weighed: the circuits' mean without it is another quantity. Where no weighing with
 * a reading is on record, or a circuit of the life was not read, the line alone speaks. After recorded work the
 * weighings since then weigh provisionally, once they can carry a line.
 *
 * Units: psi as read, lb, k = 1. Errors as values: an unweighed group with its reason and a sentence.
 */
export function weighGroup(group: PreparedGroup, reading: GroupReading): GroupWeighing {
  if (!group.sensed) return unweighed(group, 'not measured', ['no circuit', { name: nameOf(group) }])
  const { groupId } = group
  const line = lineAt(group.lines, reading)
  if ('reason' in line) {
    const best = line.reason === 'upset' ? weighProvisionally(group, line.line, reading) : undefined
    if (best === undefined) return withoutLine(group, line, reading)
    if ('reason' in best) return best
    if (best.weight.weightLb < 0) return withoutLine(group, line, reading)
    const { weight, isThin, isOddPressure, psi, varPsi2 } = best
    return {
      weighed: true,
      groupId,
      source: 'provisional',
      weight,
      weightLb: weight.weightLb,
      uLb: Math.sqrt(varianceLb2(weight)),
      byLine: null,
      isThin,
      isOddPressure,
      isProvisional: true,
      psi,
      uPsi: Math.sqrt(varPsi2),
      line: null,
    }
  }
  const read = readPressure(group, line, reading, group.resolutionPsi)
  if ('reason' in read) return withoutPressure(group, read)
  const { psi } = read
  const varPsi2 = group.levelingVarPsi2 + read.resolutionVarPsi2
  const byLine = withU(lineWeight(line, reading.takenAt, { psi, varPsi2 }))
  const life = lifeAt(group.lives, line.lift, reading)
  const best = life && byLife(group, life, reading)
  const isBeyond = best === undefined && isBeyondSensor(group, line, reading)
  const { weightLb } = best?.weight ?? byLine
  if (Math.min(byLine.weightLb, weightLb) < 0)
    return unweighed(group, 'below nothing', ['below nothing', { name: nameOf(group), psi }])
  return {
    weighed: true,
    groupId,
    source: 'line',
    weight: best?.weight ?? byLine.weight,
    weightLb,
    uLb: best === undefined ? byLine.uLb : Math.sqrt(varianceLb2(best.weight)),
    byLine,
    isThin: best?.isThin ?? isBeyond,
    isOddPressure: best?.isOddPressure ?? isBeyond,
    isProvisional: false,
    psi,
    uPsi: Math.sqrt(best?.varPsi2 ?? varPsi2),
    line,
  }
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

/** Readies a group to weigh with everything its history holds: its lines, what ended them, its lives. */
export function readyGroup(history: GroupHistory, states: StateFacts): PreparedGroup {
  const { rules, scales, estimates } = states
  const limitLb = groupLimitLb(history, rules)
  return prepareGroup(history, {
    rules,
    states,
    scaleOf: (scaleId) => scales.get(scaleId),
    levelingPsi: estimates.leveling.value,
    wanderOf: (line) => wanderOf(line, limitLb, estimates.wander.value),
  })
}
