import type { GroupHistory } from '#core/evidence/history.ts'
import type { Check, LineLife } from '#core/evidence/line-life.ts'
import { type Slip, type SlipFacts, slipCandidates } from '#core/evidence/slips.ts'
import { type CusumSums, cusumStart, cusumStep } from '#core/line/cusum.ts'
import { standardNormalQuantile } from '#core/line/statistics.ts'
import {
  type Innovation,
  type TwoWeights,
  innovate,
  readState,
  shareOf,
  updateState,
  wanderCovariance,
  wanderOn,
} from '#core/line/track.ts'
import { laterBy, dayMs } from '#core/words/instant.ts'

/** What one check came to. */
export interface CheckStep {
  readonly check: Check
  readonly innovation: Innovation
  /** The track after the check, lb. */
  readonly state: TwoWeights
  readonly cusum: CusumSums
  readonly missed: boolean
  /** The slip that explains the miss: then the check says nothing about the line. */
  readonly slip: Slip | null
}

/** A life followed through its checks. */
export interface CheckTrail {
  readonly life: LineLife
  readonly steps: readonly CheckStep[]
  /** The step where the present alarm began to build up, and its side; null while there is none. */
  readonly alarm: { readonly from: number; readonly side: 'high' | 'low' } | null
}

/** A single wild weighing adds no more than this to the CUSUM, in standard deviations: two in a row are needed. */
const cusumCap = 5
/** A check that misses by more does not pull the track: it is a slip or a step, and either would spoil it. */
const pullLimit = 4
/**
 * A slip with no support but that its value fits is only looked for beyond what chance does to a fleet now and then.
 */
const unsupportedSlipZ = 4.2
const agrees = 2.5

/**
 * What a check says against the line as it was calibrated and may have wandered since, whatever the track has learnt
 * from other checks: weights on the road are read off the line.
 */
export function missOfLine({ start, wander, line }: LineLife, { at, share, weightLb, varLb2 }: Check): Innovation {
  return innovate(wanderOn(start, wander, at - line.calibration.calibratedAt), share, weightLb, varLb2)
}

/**
 * Whether the last three checks since an alarm began lie by the line again, within the slack that no alarm is made of.
 */
function isBack(
  life: LineLife,
  steps: readonly CheckStep[],
  { from, side }: NonNullable<CheckTrail['alarm']>,
  slack: number,
): boolean {
  const last = steps
    .slice(from)
    .filter(({ slip }) => slip === null)
    .slice(-3)
  const sum = last.reduce((total, { check }) => total + missOfLine(life, check).z, 0)
  return last.length === 3 && (side === 'high' ? sum : -sum) <= 3 * slack
}

/** Half-width, in standard deviations, of the band that holds a share of a normal variable. */
const bandOf = (confidencePercent: number): number => standardNormalQuantile(0.5 + confidencePercent / 200)

function explain(
  history: GroupHistory,
  check: Check,
  state: TwoWeights,
  life: LineLife,
  lone: boolean,
  context: SlipFacts,
): Slip | null {
  const { observation, psi: readPsi } = check
  const shift = observation.weightLb - check.weightLb
  const [best] = slipCandidates(
    {
      history,
      observation,
      line: life.line,
      psi: readPsi,
      distance: (weightLb, psi) => {
        const read = readState(state, shareOf(psi, life.emptyPsi, life.limitPsi))
        return Math.abs(weightLb - shift - read.weightLb) / Math.sqrt(read.variance + check.varLb2)
      },
    },
    context,
  )
  return best && (best.sure || lone) ? best.slip : null
}

/**
 * Follows a line through the checks of its life: each is compared with what the track reads, slips are set aside, the
 * rest updates the track and feeds the CUSUM. A slip without support of its own counts only when the check before and
 * the one after agree with the line; otherwise it may be the first sign of a step. An alarm lasts, though the track
 * learns to live with the shift and the CUSUM falls again, until three checks in a row are back at the line; then both
 * begin anew.
 */
export function followChecks(history: GroupHistory, life: LineLife, context: SlipFacts): CheckTrail {
  const { rules } = context
  const band = bandOf(rules.missConfidence)
  const steps: CheckStep[] = []
  let state = life.start
  let at = life.line.calibration.calibratedAt
  let cusum = cusumStart
  let previousMissed = false
  let highFrom = 0
  let lowFrom = 0
  let alarm = null as CheckTrail['alarm']
  for (const [i, check] of life.checks.entries()) {
    // A check between the first point and the day of the calibration meets the line as it was calibrated.
    state = wanderOn(state, life.wander, check.at - at)
    at = Math.max(at, check.at)
    const innovation = innovate(state, check.share, check.weightLb, check.varLb2)
    const missed = Math.abs(innovation.z) > band
    let slip: Slip | null = null
    if (missed) {
      const next = life.checks[i + 1]
      const nextAgrees =
        next !== undefined && Math.abs(innovate(state, next.share, next.weightLb, next.varLb2).z) <= agrees
      slip = explain(
        history,
        check,
        state,
        life,
        nextAgrees && !previousMissed && Math.abs(innovation.z) > unsupportedSlipZ,
        context,
      )
    }
    if (slip === null) {
      previousMissed = missed
      cusum = cusumStep(cusum, Math.max(-cusumCap, Math.min(cusumCap, innovation.z)), rules.cusumSlack)
      if (cusum.high === 0) highFrom = i + 1
      if (cusum.low === 0) lowFrom = i + 1
      if (Math.abs(innovation.z) <= pullLimit) state = updateState(state, check.share, innovation)
      // A sum that is still falling from an earlier shift raises no alarm of its own.
      const raised = innovation.z > 0 ? 'high' : 'low'
      if (cusum[raised] > rules.cusumLimit && alarm?.side !== raised)
        alarm = { from: raised === 'high' ? highFrom : lowFrom, side: raised }
    }
    steps.push({ check, innovation, state, cusum, missed, slip })
    if (alarm && isBack(life, steps, alarm, rules.cusumSlack)) {
      alarm = null
      cusum = cusumStart
      highFrom = i + 1
      lowFrom = i + 1
    }
  }
  return { life, steps, alarm }
}

/**
 * Variance of the weight that the line in use reads at its limit, lb²: the track's own there, the square of what the
 * line lies off the track, and the scales' own errors.
 */
function limitVariance({ line, start, limitPsi }: LineLife, state: TwoWeights): number {
  const offTrack = start.atLimit - state.atLimit
  return (
    state.varLimit +
    offTrack * offTrack +
    line.scaleShifts.reduce((sum, { da, db }) => sum + (da + db * limitPsi) ** 2, 0)
  )
}

/** Variance that wandering adds to the weight at the limit in a day, lb². */
export const limitGrowth = ({ wander }: LineLife): number => wanderCovariance(wander, dayMs).varLimit

/** The track after the last check of a time, and when that was, ms: the day of the calibration, or of a later check. */
function latestState({ life, steps }: CheckTrail, place = steps.length - 1): { state: TwoWeights; at: number } {
  const step = steps[place]
  const { calibratedAt } = life.line.calibration
  return step
    ? { state: step.state, at: Math.max(calibratedAt, step.check.at) }
    : { state: life.start, at: calibratedAt }
}

/** Standard uncertainty at the limit on a day, lb: that after the last check, wandered on since. */
export function limitUncertainty(trail: CheckTrail, asOf: number): number {
  const { state, at } = latestState(trail)
  return Math.sqrt(limitVariance(trail.life, wanderOn(state, trail.life.wander, asOf - at)))
}

/**
 * When the standard uncertainty at the limit passes what is allowed (lb) for good, ms: the day on which it did, by
 * wandering on or by what a check showed, or the one on which it will; Infinity where it never does. It follows from
 * the checks alone, so the day asked about does not move it.
 */
export function passesAt(trail: CheckTrail, allowedLb: number): number {
  const allowed = allowedLb * allowedLb
  let since = Number.POSITIVE_INFINITY
  for (let place = trail.steps.length - 1; place >= -1; place -= 1) {
    const { state, at } = latestState(trail, place)
    const room = allowed - limitVariance(trail.life, state)
    if (room >= 0) {
      const growth = limitGrowth(trail.life)
      return Math.min(since, growth > 0 ? laterBy(at, room / growth) : Number.POSITIVE_INFINITY)
    }
    since = at
  }
  return trail.life.line.calibration.calibratedAt
}
