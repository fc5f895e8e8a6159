import { type GroupFacts, type GroupHistory, type Observation, isSensed } from '#core/fleet/history.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { mountAt } from '#core/line/calibrate.ts'
import { gaugePsi } from '#core/line/pressure.ts'
import { type CorrelatedWeight, varianceLb2 } from '#core/weight/correlated.ts'
import { liftFits } from '#core/weight/lift.ts'
import { type WeighingLine, type WeighingTerms, weighingLines } from '#core/weight/weighing-line.ts'

const dayMs = 86_400_000

/** Why a group has no weight, for a program; the message says it to a person. */
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
  readonly message: string
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

function unweighed({ groupId, unit, group }: PreparedGroup, reason: UnweighedReason, why: string): UnweighedGroup {
  return { weighed: false, groupId, reason, message: `${unit} ${group} was not weighed: ${why}` }
}

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
      return unweighed(
        group,
        'upset',
        `on ${dayOf(line.end.at)} ${line.end.what}, after its calibration of ${dayOf(line.calibratedAt)}.`,
      )
    }
    return line
  }
  if (other) {
    const taken =
      other.lift === 'both'
        ? 'with the lift axle sometimes raised and sometimes lowered'
        : `with the lift axle ${other.lift}`
    // How it is done in practice: the air does not tell what a lowered axle takes over.
    const instead =
      other.lift === 'raised'
        ? ' Read the pressures with it raised, then lower it.'
        : other.lift === 'lowered'
          ? ' Read the pressures with it lowered.'
          : ''
    return unweighed(
      group,
      'other lift state',
      `its line was calibrated ${taken}, the reading was taken with it ${lift}.${instead}`,
    )
  }
  const first = group.lines[0]
  return unweighed(
    group,
    'no line',
    first
      ? `its first calibration is of ${dayOf(first.calibratedAt)}, after this reading.`
      : 'no calibration of it makes a line.',
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
      const which =
        group.circuits.length > 1
          ? `circuit ${circuit.name}, which its line was calibrated with, was not read.`
          : 'the reading has no pressure of it.'
      return unweighed(group, 'no pressure', which)
    }
    const mount = mountAt(circuit, takenAt)
    const reference = mount?.reference ?? 'gauge'
    if (reference === 'absolute' && elevationFt === null) {
      return unweighed(
        group,
        'elevation unknown',
        `sensor ${mount?.serial} reads absolute pressure and the elevation of the reading is not recorded.`,
      )
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
  if (!group.sensed)
    return unweighed(group, 'not measured', 'it has no circuit of its own; only a scale ticket gives its weight.')
  const line = lineFor(group, reading)
  if ('reason' in line) return line
  const pressure = pressureFor(group, line, reading)
  if ('reason' in pressure) return pressure
  const { psi, varPsi2 } = pressure
  const { a, b } = line.line
  const weightLb = a + b * psi
  if (weightLb < 0) {
    return unweighed(
      group,
      'below nothing',
      `${psi.toFixed(1)} psi is below the pressure at which its line reads nothing; the suspension was not up on its air.`,
    )
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
