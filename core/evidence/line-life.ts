import {
  type CalibratedLine,
  divisionOf,
  settledAt,
  ticketUncertaintyLb,
  toleranceOf,
} from '#core/evidence/calibrate.ts'
import {
  type FleetEstimates,
  type ScaleEffect,
  covarianceOf,
  scaleAt,
  unlearntScale,
} from '#core/evidence/estimates.ts'
import type { GroupHistory, Observation, ScaleFacts } from '#core/evidence/history.ts'
import type { LiftOfPoints } from '#core/evidence/lift.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { type GroupLine, type GroupLines, groupLines, lineAt, successorOf } from '#core/evidence/line-in-use.ts'
import { type ReadPressure, readPressure } from '#core/evidence/read-pressure.ts'
import type { Line } from '#core/line/fit.ts'
import { pressureAtWeight } from '#core/line/predict.ts'
import { type TwoWeights, type Wander, weightsAt } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** An observation that a scale weighed. */
export interface WeighedObservation extends Observation {
  readonly scaleId: number
  readonly weightLb: number
}

const isWeighed = (observation: Observation): observation is WeighedObservation =>
  observation.weightLb !== null && observation.scaleId !== null

/** A ticket with a reading that was no calibration point: it tests the line that was in use. */
export interface Check {
  readonly observation: WeighedObservation
  readonly at: number
  readonly psi: number
  /** Ticket weight less what the estimated biases of the scales explain, lb. */
  readonly weightLb: number
  /** Variance of the check apart from the leveling repeatability: ticket, resolution, scales; lb². */
  readonly varOtherLb2: number
  /** The same with the leveling repeatability: what the miss of a check is measured against, beside the line's own. */
  readonly varLb2: number
}

/** A line until later ones took over from it, with all that tested it meanwhile. */
export interface LineLife {
  readonly line: GroupLine
  readonly lift: LiftOfPoints
  readonly emptyPsi: number
  readonly limitPsi: number
  /** The line as weights at empty and limit on the day of its calibration, without the scales' own errors. */
  readonly start: TwoWeights
  readonly wander: Wander
  /** Mean estimated bias of the scales behind its points, relative. */
  readonly scaleGain: number
  readonly levelingPsi: number
  /** When later lines had taken over in every lift state it holds in, ms; Infinity while it is in use. */
  readonly endedAt: number
  /** When recorded work broke it, ms. */
  readonly brokenAt: number | null
  readonly checks: readonly Check[]
}

export interface LifeContext {
  readonly rules: HouseRules
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly estimates: FleetEstimates
}

/** What a scale did at a moment, as far as it is known. */
export const effectOf = ({ scales, rules, estimates }: LifeContext, scaleId: number, at: number): ScaleEffect =>
  scaleAt(estimates, scaleId, at) ?? unlearntScale(scaleId, toleranceOf(scales.get(scaleId), rules))

const smallestSpanPsi = 5

/**
 * Empty and limit pressure of a line, psi: its lightest point, and where it reads the limit (its heaviest point if that
 * lies too close).
 */
export function referencePressures(
  { fit, points }: CalibratedLine,
  limitLb: number,
): { emptyPsi: number; limitPsi: number } {
  const pressures = points.map(({ x }) => x)
  const emptyPsi = Math.min(...pressures)
  const atLimit = pressureAtWeight(fit, limitLb).value
  const limitPsi = atLimit - emptyPsi >= smallestSpanPsi ? atLimit : Math.max(...pressures, emptyPsi + smallestSpanPsi)
  return { emptyPsi, limitPsi }
}

/** The fitted line with its covariance as widened by disagreeing points, without the scales' own errors. */
function ownLine({ fit, widenedBy }: CalibratedLine): Line {
  return {
    a: fit.a,
    b: fit.b,
    uA: fit.uA * widenedBy,
    uB: fit.uB * widenedBy,
    covAB: fit.covAB * widenedBy * widenedBy,
  }
}

/**
 * What the scales' biases move a check by against a line, and how sure that is; both relative to the weight. What its
 * scale and those behind the line's points have in common cancels.
 */
function scaleShare(line: CalibratedLine, own: ScaleEffect, context: LifeContext): { shift: number; variance: number } {
  const shares = new Map([[own.key, { effect: own, share: 1 }]])
  for (const { scaleId, observation } of line.points) {
    const effect = effectOf(context, scaleId, observation.takenAt)
    const share = (shares.get(effect.key)?.share ?? 0) - 1 / line.points.length
    shares.set(effect.key, { effect, share })
  }
  let shift = 0
  let variance = 0
  for (const one of shares.values()) {
    shift += one.share * one.effect.gain
    for (const other of shares.values()) variance += one.share * other.share * covarianceOf(one.effect, other.effect)
  }
  return { shift, variance: Math.max(0, variance) }
}

/** Makes the checks of one life; what its scales do to it is worked out once a scale. */
function checkMaker(
  life: Omit<LineLife, 'checks'>,
  context: LifeContext,
): (observation: WeighedObservation, pressure: ReadPressure) => Check {
  const { b } = life.line.fit
  const levelingVar = (b * life.levelingPsi) ** 2
  const scales = new Map<string, { shift: number; variance: number; ticketVar: number }>()
  const scaleOf = (scaleId: number, at: number) => {
    const effect = effectOf(context, scaleId, at)
    const known = scales.get(effect.key)
    if (known) return known
    const uTicket = ticketUncertaintyLb(
      divisionOf(context.scales.get(scaleId), context.rules),
      context.rules.ticketRepeatabilityLb,
    )
    const fresh = { ...scaleShare(life.line, effect, context), ticketVar: uTicket * uTicket }
    scales.set(effect.key, fresh)
    return fresh
  }
  return (observation, { psi, resolutionVarPsi2 }) => {
    const { weightLb, scaleId } = observation
    const { shift, variance, ticketVar } = scaleOf(scaleId, observation.takenAt)
    const varOtherLb2 = ticketVar + b * b * resolutionVarPsi2 + variance * weightLb * weightLb
    return {
      observation,
      at: observation.takenAt,
      psi,
      weightLb: weightLb * (1 - shift),
      varOtherLb2,
      varLb2: varOtherLb2 + levelingVar,
    }
  }
}

/** The lines of a group under what is known of the fleet. */
export const linesOf = (history: GroupHistory, { rules, scales, estimates }: LifeContext): GroupLines =>
  groupLines(history, (id) => scales.get(id), rules, estimates.leveling.value)

/**
 * The lives of all lines of a group, oldest first. Every weighed observation that is no point of a line tests the line
 * that applies to it, by the rule that weighs readings (`lineAt`, `readPressure`): what could not be weighed tests
 * nothing.
 */
export function lineLives(
  history: GroupHistory,
  context: LifeContext,
  { lines }: Pick<GroupLines, 'lines'> = linesOf(history, context),
): LineLife[] {
  const { rules, estimates } = context
  const limitLb = groupLimitLb(history, rules)
  const drafts = lines.map((line, place) => {
    const { calibratedAt } = line.calibration
    const next = successorOf(lines, place)
    // Work up to the very first weighing of the next calibration came before it: nobody weighs a truck that is still
    // apart.
    const settled = next ? settledAt(next.calibration) : Number.POSITIVE_INFINITY
    const { emptyPsi, limitPsi } = referencePressures(line, limitLb)
    const life = {
      line,
      lift: line.lift,
      emptyPsi,
      limitPsi,
      endedAt: next ? Math.max(calibratedAt, next.holdsFrom) : Number.POSITIVE_INFINITY,
      brokenAt: line.end !== null && line.end.at <= settled ? line.end.at : null,
      levelingPsi: estimates.leveling.value,
      scaleGain:
        line.points.reduce(
          (sum, { scaleId, observation }) => sum + effectOf(context, scaleId, observation.takenAt).gain,
          0,
        ) / line.points.length,
      start: weightsAt(ownLine(line), emptyPsi, limitPsi),
      wander: { psiPerRootMonth: estimates.wander.value, slopeLbPerPsi: line.fit.b },
    }
    return { life, makeCheck: checkMaker(life, context), checks: [] as Check[] }
  })
  const byLine = new Map(drafts.map((draft) => [draft.life.line, draft]))
  const points = new Set(lines.flatMap((line) => line.points.map(({ observation }) => observation.readingId)))
  for (const observation of history.observations) {
    if (!isWeighed(observation) || points.has(observation.readingId)) continue
    const line = lineAt(lines, observation)
    if ('reason' in line) continue
    const pressure = readPressure(history, line, observation, rules.pressureResolutionPsi)
    const draft = byLine.get(line)
    if (draft && !('reason' in pressure)) draft.checks.push(draft.makeCheck(observation, pressure))
  }
  return drafts.map(({ life, checks }) => ({ ...life, checks }))
}
