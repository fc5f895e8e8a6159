import { divisionOf, scaleGainUncertainty, toleranceOf } from '#core/evidence/calibrate.ts'
import { type AxleShare, type SetLayout, bridgeLayout } from '#core/weight/bridge.ts'
import {
  type CorrelatedWeight,
  type ErrorRows,
  type WeightSum,
  errorRows,
  exactWeight,
  sumWeights,
  varianceLb2,
} from '#core/weight/correlated.ts'
import type { Tare } from '#core/weight/tare.ts'
import { groupTargetPsi } from '#core/weight/target-pressure.ts'
import { type Judgement, cargoOf, grossOf, judgeWeight } from '#core/weight/verdict.ts'
import { type CombinationReading, weighCombination } from '#core/weight/weigh-combination.ts'
import type { GroupWeighing, UnweighedGroup, WeighedGroup } from '#core/weight/weigh.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { at } from '#core/words/lists.ts'
import type { Result } from '#core/words/problem.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A group of the combination with its weight judged, or why it has none. In the order of the plan's groups. */
export interface JudgedGroup {
  readonly weighing: GroupWeighing
  readonly limitLb: number
  readonly judgement: Judgement | null
}

/** The gross weight judged; where a group is missing, what the weighed ones come to. */
export interface JudgedGross {
  readonly limitLb: number
  readonly total: WeightSum | null
  readonly judgement: Judgement | null
  readonly missing: readonly UnweighedGroup[]
  readonly weighedLb: number
}

/**
 * What the bridge sets weigh, by their places in `sets`; an uncertainty below zero stands for a set that has a group
 * without a weight. Two lists of numbers, since a combination of eight axles has 28 sets: `judgedSet` makes a record of
 * one.
 */
export interface BridgeWeights {
  readonly sets: readonly SetLayout[]
  readonly weightsLb: readonly number[]
  readonly usLb: readonly number[]
}

/** A bridge set with its weight judged; null where a group that stands on it was not weighed. */
export interface JudgedSet {
  readonly set: SetLayout
  readonly sum: WeightSum | null
  readonly judgement: Judgement | null
}

/** A combination weighed once: by a reading, or by a ticket. */
export interface CombinationWeights {
  readonly groups: readonly JudgedGroup[]
  readonly gross: JudgedGross
  readonly bridge: BridgeWeights
}

const isWeighed = (weighing: GroupWeighing): weighing is WeighedGroup => weighing.weighed
/** Stands for an unweighed group among the rows; no sum that it belongs to is made. */
const nothing = exactWeight(0)

/**
 * Weighs every set from running sums over the axles: a set weighs what stands at its end less what stands at its start,
 * and so do its errors over each independent source.
 */
function weighSets(
  ready: ReadyCombination,
  weighings: readonly GroupWeighing[],
  { width, rows }: ErrorRows,
  lift: LiftState | null,
): BridgeWeights {
  const { axles, sets } = bridgeLayout(ready, ready.plan.bridge(lift))
  let weightLb = 0
  let unweighed = 0
  const weightUpTo = [weightLb]
  const unweighedUpTo = [unweighed]
  const errorsUpTo = new Float64Array((axles.length + 1) * width)
  for (let i = 0; i < axles.length; i += 1) {
    const { place, share } = axles[i] as AxleShare
    const weighing = weighings[place] as GroupWeighing
    if (weighing.weighed) weightLb += share * weighing.weightLb
    else unweighed += 1
    weightUpTo.push(weightLb)
    unweighedUpTo.push(unweighed)
    for (let column = 0; column < width; column += 1) {
      errorsUpTo[(i + 1) * width + column] =
        (errorsUpTo[i * width + column] ?? 0) + share * (rows[place * width + column] ?? 0)
    }
  }
  const weightsLb: number[] = []
  const usLb: number[] = []
  for (let i = 0; i < sets.length; i += 1) {
    const { from, to } = sets[i] as SetLayout
    weightsLb.push((weightUpTo[to] ?? 0) - (weightUpTo[from] ?? 0))
    if (unweighedUpTo[to] !== unweighedUpTo[from]) {
      usLb.push(-1)
      continue
    }
    let variance = 0
    for (let column = 0; column < width; column += 1) {
      const error = (errorsUpTo[to * width + column] ?? 0) - (errorsUpTo[from * width + column] ?? 0)
      variance += error * error
    }
    usLb.push(Math.sqrt(variance))
  }
  return { sets, weightsLb, usLb }
}

/** One bridge set of a weighed combination, judged at a confidence in percent. */
export function judgedSet(
  { sets, weightsLb, usLb }: BridgeWeights,
  place: number,
  confidencePercent: number,
): JudgedSet {
  const set = sets[place] as SetLayout
  const weightLb = at(weightsLb, place)
  const uLb = at(usLb, place)
  if (uLb < 0) return { set, sum: null, judgement: null }
  return { set, sum: { weightLb, uLb }, judgement: judgeWeight(weightLb, uLb, set.limitLb, confidencePercent) }
}

/**
 * Judges weights of a combination's groups, in the order of the plan; `printed` is a gross weight that a ticket says
 * itself.
 */
function judgeCombination(
  ready: ReadyCombination,
  weighings: readonly GroupWeighing[],
  lift: LiftState | null,
  printed: CorrelatedWeight | null,
): CombinationWeights {
  const { plan } = ready
  const confidence = plan.rules.verdictConfidencePercent
  const groups = plan.groups.map(({ limitLb }, i): JudgedGroup => {
    const weighing = weighings[i] as GroupWeighing
    return {
      weighing,
      limitLb,
      judgement: weighing.weighed ? judgeWeight(weighing.weightLb, weighing.uLb, limitLb, confidence) : null,
    }
  })
  const rows = errorRows(weighings.map((weighing) => (weighing.weighed ? weighing.weight : nothing)))
  const gross = grossOf(weighings)
  const sum = gross.complete ? { weightLb: gross.weightLb, uLb: gross.uLb } : null
  const total = printed ? sumWeights([printed]) : sum
  return {
    groups,
    bridge: weighSets(ready, weighings, rows, lift),
    gross: {
      limitLb: plan.grossLimitLb,
      total,
      missing: gross.complete ? [] : gross.missing,
      weighedLb: gross.complete ? gross.weightLb : gross.weighed.weightLb,
      judgement: total && judgeWeight(total.weightLb, total.uLb, plan.grossLimitLb, confidence),
    },
  }
}

/**
 * Weighs a combination from one reading and judges every group, the gross weight and every set of consecutive axles.
 */
export function weighReading(ready: ReadyCombination, reading: CombinationReading): CombinationWeights {
  return judgeCombination(ready, weighCombination(ready.plan, reading), reading.lift, null)
}

/** A scale ticket of a combination: what it says of groups, and the gross weight if it prints one. */
export interface CertifiedTicket {
  readonly scaleId: number
  readonly lift: LiftState | null
  readonly weightsLb: ReadonlyMap<number, number>
  readonly grossLb: number | null
}

/**
 * Judges the weights of a ticket from a certified scale as the scale stands behind them: within its tolerance, taken as
 * a rectangular half-width common to all weights of the scale, and its division,
 *   u² = (t W/√3)² + d²/12.
 * What fuel and people would change by the next weighing does not count: the ticket speaks of that moment.
 * Units: lb, k = 1. Source: JCGM 100:2008 (GUM) 4.3.7; that a certified scale decides is the law's rule.
 */
export function weighTicket(
  ready: ReadyCombination,
  { scaleId, lift, weightsLb, grossLb }: CertifiedTicket,
): CombinationWeights {
  const { scaleOf, rules, groups } = ready.plan
  const scale = scaleOf(scaleId)
  const division = divisionOf(scale, rules)
  const gain = scaleGainUncertainty(toleranceOf(scale, rules))
  const certified = (weightLb: number): CorrelatedWeight => ({
    weightLb,
    ownVarLb2: (division * division) / 12,
    gains: [{ scaleId, lb: gain * weightLb }],
    follows: null,
  })
  const weighings = groups.map(({ place: { groupId, role }, name }): GroupWeighing => {
    const weightLb = weightsLb.get(groupId)
    if (weightLb === undefined && !(role === 'lift' && lift === 'raised')) {
      return {
        weighed: false,
        groupId,
        reason: 'not measured',
        why: ['not on ticket', { name }],
      }
    }
    const weight = weightLb === undefined ? exactWeight(0) : certified(weightLb)
    return {
      weighed: true,
      groupId,
      source: 'ticket',
      weight,
      weightLb: weight.weightLb,
      uLb: Math.sqrt(varianceLb2(weight)),
      psi: null,
      uPsi: null,
      line: null,
    }
  })
  return judgeCombination(ready, weighings, lift, grossLb === null ? null : certified(grossLb))
}

/** The tare of the combination at a time and the cargo that its weights leave above it, or why either is not known. */
export function cargoAt(
  ready: ReadyCombination,
  { groups }: CombinationWeights,
  at: number,
): { readonly tare: Result<Tare>; readonly cargo: WeightSum | null } {
  const tare = ready.tareAt(at)
  const weighings = groups.map(({ weighing }) => weighing)
  return { tare, cargo: tare.ok && weighings.every(isWeighed) ? (cargoOf(weighings, tare.value.weight) ?? null) : null }
}

/**
 * The highest gauge pressure at which a group is still surely under its limit on the line that weighed it, psi; null
 * without one.
 */
export function targetPsiOf(
  ready: ReadyCombination,
  place: number,
  { weighing, limitLb }: JudgedGroup,
  at: number,
): number | null {
  const prepared = ready.plan.groups[place]?.prepared
  const line = weighing.weighed ? weighing.line : null
  return (
    (prepared && line && groupTargetPsi(prepared, line, limitLb, ready.plan.rules.verdictConfidencePercent, at)) ?? null
  )
}
