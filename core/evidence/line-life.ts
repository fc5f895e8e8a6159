import {
  type CalibratedLine,
  type ReadPressure,
  calibrateGroup,
  divisionOf,
  pressureReader,
  scaleGainUncertainty,
  settledAt,
  ticketUncertaintyLb,
  toleranceOf,
} from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { GroupHistory, Observation, ScaleFacts } from '#core/evidence/history.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { lineBreaks } from '#core/evidence/breaks.ts'
import type { Line } from '#core/line/fit.ts'
import { pressureAtWeight } from '#core/line/predict.ts'
import { type TwoWeights, type Wander, shareOf, weightsAt } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A ticket with a reading that was no calibration point: it tests the line that was in use. */
export interface Check {
  readonly observation: Observation
  readonly at: number
  readonly psi: number
  /** Ticket weight less what the estimated biases of the scales explain, lb. */
  readonly weightLb: number
  /** Where the pressure lies between the line's empty and limit pressure. */
  readonly share: number
  /** Variance of the check apart from the leveling repeatability: ticket, resolution, scales; lb². */
  readonly varOtherLb2: number
  /** The same with the leveling repeatability: what the miss of a check is measured against, beside the line's own. */
  readonly varLb2: number
}

/** A line from its calibration to the next one of its lift state, with all that tested it meanwhile. */
export interface LineLife {
  readonly line: CalibratedLine
  readonly lift: LiftState | null
  readonly emptyPsi: number
  readonly limitPsi: number
  /** The line as weights at empty and limit on the day of its calibration, without the scales' own errors. */
  readonly start: TwoWeights
  readonly wander: Wander
  /** Mean estimated bias of the scales behind its points, relative. */
  readonly scaleGain: number
  readonly levelingPsi: number
  /** When the next line of its lift state took over, ms; Infinity while it is in use. */
  readonly endedAt: number
  /** When recorded work broke it, ms. */
  readonly brokenAt: number | null
  readonly checks: readonly Check[]
}

interface LifeContext {
  readonly rules: HouseRules
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly estimates: FleetEstimates
}

/** Whether a line taken in one lift state may be used in another: the same, or one of them says nothing. */
export const liftsAgree = (a: LiftState | null, b: LiftState | null): boolean =>
  a === b || a === null || b === null || a === 'none' || b === 'none'

/**
 * The lift state of a calibration: raised or lowered as most of its points say, the first of two as many; else what any
 * says.
 */
function liftOf({ points }: CalibratedLine): LiftState | null {
  const said = points.flatMap(({ observation: { lift } }) => (lift === null ? [] : [lift]))
  const raised = said.filter((lift) => lift === 'raised').length
  const lowered = said.filter((lift) => lift === 'lowered').length
  if (raised !== lowered) return raised > lowered ? 'raised' : 'lowered'
  return said.find((lift) => lift !== 'none') ?? said[0] ?? null
}

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

/** What the scales' biases move a check by against a line, and how sure that is; both relative to the weight. */
function scaleShare(
  line: CalibratedLine,
  scaleId: number,
  { scales, rules, estimates }: LifeContext,
): { shift: number; variance: number } {
  const effect = (id: number) =>
    estimates.scales.get(id) ?? { gain: 0, u: scaleGainUncertainty(toleranceOf(scales.get(id), rules)) }
  const own = effect(scaleId)
  const count = line.points.length
  let lineGain = 0
  let sameShare = 0
  let lineVariance = 0
  for (const { observation } of line.points) {
    const other = effect(observation.scaleId as number)
    lineGain += other.gain / count
    if (observation.scaleId === scaleId) sameShare += 1 / count
    else lineVariance += (other.u * other.u) / count
  }
  return { shift: own.gain - lineGain, variance: (1 - sameShare) ** 2 * own.u * own.u + lineVariance * (1 - sameShare) }
}

/** Makes the checks of one life; what its scales do to it is worked out once a scale. */
function checkMaker(
  life: Omit<LineLife, 'checks'>,
  context: LifeContext,
): (observation: Observation, pressure: ReadPressure) => Check {
  const { b } = life.line.fit
  const levelingVar = (b * life.levelingPsi) ** 2
  const scales = new Map<number, { shift: number; variance: number; ticketVar: number }>()
  const scaleOf = (scaleId: number) => {
    const known = scales.get(scaleId)
    if (known) return known
    const uTicket = ticketUncertaintyLb(
      divisionOf(context.scales.get(scaleId), context.rules),
      context.rules.ticketRepeatabilityLb,
    )
    const fresh = { ...scaleShare(life.line, scaleId, context), ticketVar: uTicket * uTicket }
    scales.set(scaleId, fresh)
    return fresh
  }
  return (observation, { psi, uResolutionPsi }) => {
    const weightLb = observation.weightLb as number
    const { shift, variance, ticketVar } = scaleOf(observation.scaleId as number)
    const varOtherLb2 = ticketVar + (b * uResolutionPsi) ** 2 + variance * weightLb * weightLb
    return {
      observation,
      at: observation.takenAt,
      psi,
      weightLb: weightLb * (1 - shift),
      share: shareOf(psi, life.emptyPsi, life.limitPsi),
      varOtherLb2,
      varLb2: varOtherLb2 + levelingVar,
    }
  }
}

/** Place of the first observation later than a time, in a list in order of time. */
function firstAfter(observations: readonly Observation[], at: number): number {
  let low = 0
  let high = observations.length
  while (low < high) {
    const middle = (low + high) >> 1
    if ((observations[middle] as Observation).takenAt <= at) low = middle + 1
    else high = middle
  }
  return low
}

/** The lives of all lines of a group, oldest first; calibrations that make no line are left out. */
export function lineLives(history: GroupHistory, context: LifeContext): LineLife[] {
  const { rules, scales, estimates } = context
  const levelingPsi = estimates.leveling.value
  const limitLb = groupLimitLb(history, rules)
  const lines: CalibratedLine[] = []
  const pointReadings = new Set<number>()
  for (const calibration of history.calibrations) {
    for (const { readingId } of calibration.points) pointReadings.add(readingId)
    const line = calibrateGroup(history, calibration, (id) => scales.get(id), rules, levelingPsi)
    if (line.ok) lines.push(line.value)
  }
  if (lines.length === 0) return []
  const readPressure = pressureReader(history, rules)
  const weighed = history.observations.filter(
    ({ weightLb, scaleId, readingId }) => weightLb !== null && scaleId !== null && !pointReadings.has(readingId),
  )
  return lines.map((line, i) => {
    const lift = liftOf(line)
    const { calibratedAt } = line.calibration
    const next = lines.slice(i + 1).find((later) => liftsAgree(lift, liftOf(later)))
    const endedAt = next?.calibration.calibratedAt ?? Number.POSITIVE_INFINITY
    // Work up to the very first weighing of the next calibration came before it: nobody weighs a truck that is still
    // apart.
    const settled = next ? settledAt(next.calibration) : Number.POSITIVE_INFINITY
    const brokenAt = lineBreaks(history, settledAt(line.calibration)).find(({ at }) => at <= settled)?.at ?? null
    const { emptyPsi, limitPsi } = referencePressures(line, limitLb)
    const life = {
      line,
      lift,
      emptyPsi,
      limitPsi,
      endedAt,
      brokenAt,
      levelingPsi,
      scaleGain:
        line.points.reduce(
          (sum, { observation }) => sum + (estimates.scales.get(observation.scaleId as number)?.gain ?? 0),
          0,
        ) / line.points.length,
      start: weightsAt(ownLine(line), emptyPsi, limitPsi),
      wander: { psiPerRootMonth: estimates.wander.value, slopeLbPerPsi: line.fit.b },
    }
    const until = Math.min(endedAt, brokenAt ?? Number.POSITIVE_INFINITY)
    const checks: Check[] = []
    const makeCheck = checkMaker(life, context)
    for (let place = firstAfter(weighed, calibratedAt); place < weighed.length; place += 1) {
      const observation = weighed[place] as Observation
      if (observation.takenAt >= until) break
      if (!liftsAgree(lift, observation.lift)) continue
      const pressure = readPressure(observation)
      if (pressure) checks.push(makeCheck(observation, pressure))
    }
    return { ...life, checks }
  })
}
