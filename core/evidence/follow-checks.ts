import type { GroupHistory } from '#core/evidence/history.ts'
import type { Check, LineLife } from '#core/evidence/line-life.ts'
import { type SlipFacts, namedSlips } from '#core/evidence/named-slips.ts'
import type { Slip } from '#core/evidence/slips.ts'
import { type ChangeWindow, type SinceWhen, ifChanged, sinceWhen, weightAt } from '#core/evidence/state/best-weight.ts'
import type { GroupStates, LifeState } from '#core/evidence/state/life-states.ts'
import { referenceDegreesF } from '#core/evidence/state/temperature.ts'
import {
  type Miss,
  type WeighingOpinion,
  missAt,
  opinionOf,
  suspectedAt,
  suspicionOf,
} from '#core/evidence/state/troubles.ts'
import { type CusumSums, cusumStart, cusumStep } from '#core/line/cusum.ts'
import { predictWeight } from '#core/line/predict.ts'
import { readState, shareOf, wanderOn } from '#core/line/track.ts'
import { coverageFactor } from '#core/words/coverage.ts'

/** What one check came to. */
export interface CheckStep {
  readonly check: Check
  /** Ticket weight less what the line in use reads, lb: what the driver's card was off by. */
  readonly offLineLb: number
  /** Ticket weight less what the weighings before it led to expect. */
  readonly innovation: Miss
  /** Sums of the standardised misses to either side: what the check chart draws. */
  readonly cusum: CusumSums
  readonly opinion: WeighingOpinion
  /** The slip that explains the miss: then the check says nothing about the line. */
  readonly slip: Slip | null
}

/** A line followed through its checks by the state of its physical life: the one answer to whether it holds. */
export interface CheckTrail {
  readonly life: LineLife
  /** The physical life in which it was calibrated; undefined where none has its circuits and lift state. */
  readonly physical: LifeState | undefined
  /** The simple slips among the weighings of that life, by the ids of their readings. */
  readonly slips: ReadonlyMap<number, Slip>
  readonly steps: readonly CheckStep[]
  /** What changed since the calibration and has not gone back; null where nothing has. */
  readonly change: SinceWhen | null
  /**
   * 'moved': the change is established. 'suspected': a change, or a wild last weighing, is at least as probable as
   * `suspectedAt`, or one weighing alone speaks for it.
   */
  readonly standing: 'holds' | 'suspected' | 'moved'
  /** Of either, the probability that something is wrong. */
  readonly suspicion: number
  /** The first step since the change; null while the line holds. */
  readonly alarmFrom: number | null
}

/** A single wild weighing adds no more than this to the sums, in standard deviations. */
const cusumCap = 5

const pointTimes = ({ line: { points } }: LineLife): number[] => points.map(({ observation }) => observation.takenAt)

/** When the first and the last weighing were made that a line was fitted on, ms. */
export const firstPointAt = (life: LineLife): number => Math.min(...pointTimes(life))
export const lastPointAt = (life: LineLife): number => Math.max(...pointTimes(life))

const sameCircuits = (one: readonly number[], other: readonly number[]): boolean =>
  one.length === other.length && one.every((place, i) => place === other[i])

/** The physical life that a line was calibrated in. */
function physicalLifeOf(states: GroupStates, life: LineLife): LifeState | undefined {
  const at = lastPointAt(life)
  return states.find(
    ({ lift, from, until, line }) =>
      lift === life.lift && from <= at && at < until && sameCircuits(line.circuits, life.line.circuits),
  )
}

/** A pressure as read when the line was calibrated, brought to the temperature at which its state is kept. */
function atReferenceOf({ line: { points } }: LineLife, { weather }: LifeState, psi: number): number {
  const degrees = points.flatMap(({ observation }) => observation.temperatureF ?? [])
  if (weather.psiPerDegree === 0 || degrees.length === 0) return psi
  const mean = degrees.reduce((sum, one) => sum + one, 0) / degrees.length
  return psi - weather.psiPerDegree * (mean - referenceDegreesF)
}

/**
 * The best weight of a pressure at a time, as a line reads: on the scales that it was calibrated on. Where no state
 * follows the line, its own weight, wandered on.
 */
export function bestWeight({ life, physical }: Pick<CheckTrail, 'life' | 'physical'>, psi: number, at: number) {
  if (physical !== undefined) {
    const { weightLb, uLb } = weightAt(physical.state, at, atReferenceOf(life, physical, psi), 0)
    return { weightLb: weightLb / (1 - life.scaleGain), u: uLb }
  }
  const { line, start, emptyPsi, limitPsi, wander } = life
  const state = wanderOn(start, wander, at - line.calibration.calibratedAt)
  const { weightLb, variance } = readState(state, shareOf(psi, emptyPsi, limitPsi))
  const scales = line.scaleShifts.reduce((sum, { da, db }) => sum + (da + db * psi) ** 2, 0)
  return { weightLb, u: Math.sqrt(variance + scales) }
}

/** How far a line in use lies off the best weight at a pressure and a time, lb: line less best, and the best's u. */
export function offBest(trail: Pick<CheckTrail, 'life' | 'physical'>, psi: number, at: number) {
  const { weightLb, u } = bestWeight(trail, psi, at)
  return { offLb: predictWeight(trail.life.line.fit, psi).value - weightLb, u }
}

/**
 * What changed in a window and has not gone back: if it did, the line lies off the best weight, empty or at its limit,
 * by more than the best weight's 95 % interval.
 */
export function lastingChange(life: LineLife, physical: LifeState, window: ChangeWindow, at: number): SinceWhen | null {
  const changed = ifChanged(physical.state, window)
  if (changed === null) return null
  const off = [life.emptyPsi, life.limitPsi].some((psi) => {
    const { offLb, u } = offBest({ life, physical: { ...physical, state: changed } }, psi, at)
    return Math.abs(offLb) > coverageFactor * u
  })
  return off ? sinceWhen(physical.state, window) : null
}

/** What is read of a physical life by every line that was calibrated in it. */
interface LifeToFollow {
  readonly slips: ReadonlyMap<number, Slip>
  /** The places of its weighings by the ids of their readings. */
  readonly places: ReadonlyMap<number, number>
}

function lifeToFollow(history: GroupHistory, physical: LifeState, facts: SlipFacts): LifeToFollow {
  const { observations } = physical
  const places = new Map<number, number>()
  for (let place = 0; place < observations.length; place += 1)
    places.set((observations[place] as (typeof observations)[number]).readingId, place)
  return { slips: namedSlips(history, physical, facts), places }
}

function stepsOf(life: LineLife, { state }: LifeState, { slips, places }: LifeToFollow, slack: number): CheckStep[] {
  let cusum = cusumStart
  const steps: CheckStep[] = []
  for (const check of life.checks) {
    const place = places.get(check.observation.readingId)
    if (place === undefined) continue
    const slip = slips.get(check.observation.readingId) ?? null
    const innovation = missAt(state, place)
    if (slip === null) cusum = cusumStep(cusum, Math.max(-cusumCap, Math.min(cusumCap, innovation.z)), slack)
    steps.push({
      check,
      offLineLb: check.weightLb - life.line.fit.a - life.line.fit.b * check.psi,
      innovation,
      cusum,
      opinion: opinionOf(state, place),
      slip,
    })
  }
  return steps
}

/** Follows one line by the state of its physical life. */
function followLine(life: LineLife, physical: LifeState, toFollow: LifeToFollow, slack: number): CheckTrail {
  const steps = stepsOf(life, physical, toFollow, slack)
  const trail = { ...untested(life), physical, slips: toFollow.slips, steps }
  const last = steps.at(-1)
  if (last === undefined) return trail
  const window = { after: lastPointAt(life), until: life.endedAt }
  const change = lastingChange(life, physical, window, last.check.at)
  const suspicion = suspicionOf(change, last.slip === null ? last.opinion : null)
  const standing = change?.established ? 'moved' : suspicion >= suspectedAt ? 'suspected' : 'holds'
  if (standing === 'holds') return { ...trail, suspicion }
  const first = change === null ? -1 : steps.findIndex(({ check }) => check.at > change.at)
  return { ...trail, standing, suspicion, change, alarmFrom: first < 0 ? steps.length - 1 : first }
}

const untested = (life: LineLife): CheckTrail => ({
  life,
  physical: undefined,
  slips: new Map(),
  steps: [],
  change: null,
  standing: 'holds',
  suspicion: 0,
  alarmFrom: null,
})

/**
 * Follows the lines of a group through the checks of their time by the states of their physical lives: what each check
 * missed, what is thought of it, and whether a line has changed since it was calibrated and lies off the best weight
 * still.
 */
export function followChecks(
  history: GroupHistory,
  lives: readonly LineLife[],
  states: GroupStates,
  facts: SlipFacts,
): CheckTrail[] {
  const known = new Map(states.map((physical) => [physical, lifeToFollow(history, physical, facts)]))
  return lives.map((life) => {
    const physical = physicalLifeOf(states, life)
    const toFollow = physical && known.get(physical)
    return physical === undefined || toFollow === undefined
      ? untested(life)
      : followLine(life, physical, toFollow, facts.rules.cusumSlack)
  })
}
