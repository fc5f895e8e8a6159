import { divisionOf, scaleGainUncertainty, toleranceOf } from '#core/evidence/calibrate.ts'
import { type AxleShare, type SetLayout, bridgeLayout } from '#core/weight/bridge.ts'
import type { CommonWeight } from '#core/evidence/history.ts'
import { type WeightMixture, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { standardNormalQuantile } from '#core/line/statistics.ts'
import {
  type CorrelatedWeight,
  type MixedError,
  type WeightSum,
  errorRows,
  exactWeight,
  isNormal,
  mixtureOfSum,
  sumWeights,
} from '#core/weight/correlated.ts'
import type { Tare } from '#core/weight/tare.ts'
import { type LoadTo, loadTo } from '#core/weight/target-pressure.ts'
import { type Judgement, type Verdict, cargoOf, judgeSum } from '#core/weight/verdict.ts'
import { type CombinationReading, surelyWeighed, weighCombination } from '#core/weight/weigh-combination.ts'
import {
  type GroupWeighing,
  type UnweighedGroup,
  type WeightAndU,
  type WeighedGroup,
  withU,
} from '#core/weight/weigh.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import type { Result } from '#core/words/problem.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A group of the combination with its weight judged, or why it has none. In the order of the plan's groups. */
export interface JudgedGroup {
  readonly weighing: GroupWeighing
  readonly limitLb: number
  readonly judgement: Judgement | null
  /** The verdict by what its line reads; null where it has none. */
  readonly byLine: Judgement | null
}

/** A sum judged. */
export interface JudgedSum {
  readonly sum: WeightSum
  readonly judgement: Judgement
}

/** The gross weight judged; where a group is missing, what the weighed ones come to. */
export interface JudgedGross {
  readonly limitLb: number
  readonly total: WeightSum | null
  readonly judgement: Judgement | null
  readonly missing: readonly UnweighedGroup[]
  readonly weighedLb: number
  /** By what the lines read; null where a group has no line. */
  readonly byLine: JudgedSum | null
}

/**
 * What bridge sets weigh, by their places in `sets`; an uncertainty below zero stands for a set that has a group
 * without a weight. Lists of numbers, since a combination of eight axles has 28 sets: `judgedSet` makes a record of
 * one.
 */
export interface SetWeights {
  readonly sets: readonly SetLayout[]
  /** The axles in a row that the sets are cut out of. */
  readonly axles: readonly AxleShare[]
  readonly weightsLb: readonly number[]
  readonly usLb: readonly number[]
  /** Groups, by their places in the plan, about which thin evidence leaves every verdict open; null: none. */
  readonly thin: ReadonlySet<number> | null
  /**
   * Where a group's weight is a mixture, the sets as mixtures, each made when it is asked for; null: all are normal.
   */
  readonly mixtureAt: ((place: number) => WeightMixture | null) | null
}

/** The sets by the best weights, and by what the lines read. */
export interface BridgeWeights extends SetWeights {
  readonly byLine: SetWeights
}

/** A bridge set with its weight judged; null where a group that stands on it was not weighed. */
export interface JudgedSet {
  readonly set: SetLayout
  readonly sum: WeightSum | null
  readonly judgement: Judgement | null
  readonly byLine: JudgedSum | null
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

/** What a group weighs by one way of weighing; null where that gives no weight. */
type WeightOf = (weighing: GroupWeighing) => CorrelatedWeight | null
const best: WeightOf = (weighing) => (weighing.weighed ? weighing.weight : null)
const byLine: WeightOf = (weighing) => (weighing.weighed ? (weighing.byLine?.weight ?? null) : null)

/**
 * Weighs every set from running sums over the axles: a set weighs what stands at its end less what stands at its start,
 * and so do its errors over each independent source.
 */
function weighSets(
  ready: ReadyCombination,
  weights: readonly (CorrelatedWeight | null)[],
  thin: ReadonlySet<number> | null,
  lift: LiftState | null,
): SetWeights {
  const { width, rows, mixed } = errorRows(weights.map((weight) => weight ?? nothing))
  const { axles, sets } = bridgeLayout(ready, ready.plan.bridge(lift))
  const weightUpTo = [0]
  const unweighedUpTo = [0]
  const errorsUpTo = new Float64Array((axles.length + 1) * width)
  for (let i = 0; i < axles.length; i += 1) {
    const { place, share } = axles[i] as AxleShare
    const weight = weights[place] as CorrelatedWeight | null
    weightUpTo.push((weightUpTo[i] as number) + (weight === null ? 0 : share * weight.weightLb))
    unweighedUpTo.push((unweighedUpTo[i] as number) + (weight === null ? 1 : 0))
    for (let column = 0; column < width; column += 1) {
      errorsUpTo[(i + 1) * width + column] =
        (errorsUpTo[i * width + column] as number) + share * (rows[place * width + column] as number)
    }
  }
  const errorOf = ({ from, to }: SetLayout, column: number): number =>
    (errorsUpTo[to * width + column] as number) - (errorsUpTo[from * width + column] as number)
  const weightsLb: number[] = []
  const usLb: number[] = []
  for (let i = 0; i < sets.length; i += 1) {
    const set = sets[i] as SetLayout
    const { from, to } = set
    weightsLb.push((weightUpTo[to] as number) - (weightUpTo[from] as number))
    if (unweighedUpTo[to] !== unweighedUpTo[from]) {
      usLb.push(-1)
      continue
    }
    let variance = 0
    for (let column = 0; column < width; column += 1) {
      const error = errorOf(set, column)
      variance += error * error
    }
    usLb.push(Math.sqrt(variance))
  }
  const mixtureAt = (place: number): WeightMixture | null => {
    const set = sets[place] as SetLayout
    const errors: MixedError[] = []
    let rest = (usLb[place] as number) ** 2
    for (const { column, weight } of mixed) {
      const error = errorOf(set, column)
      if (error === 0 || weight.ownParts === undefined) continue
      rest -= error * error
      errors.push({ parts: weight.ownParts, share: error / Math.sqrt(weight.ownVarLb2) })
    }
    return errors.length === 0 ? null : mixtureOfSum(weightsLb[place] as number, Math.max(0, rest), errors)
  }
  return {
    sets,
    axles,
    weightsLb,
    usLb,
    thin,
    mixtureAt: mixed.length === 0 ? null : mixtureAt,
  }
}

/** So many standard uncertainties stand for certainty, of a mixture's probability as of a normal one's. */
const certainExcess = 8

/**
 * By how many of its own standard uncertainties a set is over its limit; of a mixture the number that a normal weight
 * of the same probability would have. Compared with the coverage factor of the House Rules it gives the verdict.
 */
export function setExcess({ sets, weightsLb, usLb, mixtureAt }: SetWeights, place: number): number {
  const { limitLb } = sets[place] as SetLayout
  const mixture = mixtureAt === null ? null : mixtureAt(place)
  if (mixture === null) return ((weightsLb[place] as number) - limitLb) / ((usLb[place] as number) || 1)
  const pOver = probabilityAbove(mixture, limitLb)
  if (pOver <= 0) return -certainExcess
  return pOver >= 1 ? certainExcess : standardNormalQuantile(pOver)
}

/** Whether a set has an axle of one of some groups, named by their places in the plan. */
export function standsOn({ sets, axles }: SetWeights, place: number, groups: ReadonlySet<number>): boolean {
  const { from, to } = sets[place] as SetLayout
  for (let i = from; i < to; i += 1) if (groups.has((axles[i] as AxleShare).place)) return true
  return false
}

/** Whether thin evidence leaves the verdict about a set open. */
export const isThinSet = (bridge: SetWeights, place: number): boolean =>
  bridge.thin !== null && standsOn(bridge, place, bridge.thin)

/** The verdict about a set by its excess, at the coverage factor of the House Rules. */
export function setVerdict(bridge: SetWeights, place: number, excess: number, factor: number): Verdict {
  if (isThinSet(bridge, place)) return 'too close to call'
  return excess <= -factor ? 'under' : excess >= factor ? 'over' : 'too close to call'
}

function judgedSum(bridge: SetWeights, place: number, confidencePercent: number): JudgedSum | null {
  const weightLb = bridge.weightsLb[place] as number
  const uLb = bridge.usLb[place] as number
  if (uLb < 0) return null
  const mixture = bridge.mixtureAt?.(place)
  const sum = mixture ? { weightLb, uLb, mixture } : { weightLb, uLb }
  const { limitLb } = bridge.sets[place] as SetLayout
  return { sum, judgement: judgeSum(sum, limitLb, confidencePercent, isThinSet(bridge, place)) }
}

/** One bridge set of a weighed combination, judged at a confidence in percent. */
export function judgedSet(bridge: BridgeWeights, place: number, confidencePercent: number): JudgedSet {
  const judged = judgedSum(bridge, place, confidencePercent)
  return {
    set: bridge.sets[place] as SetLayout,
    sum: judged?.sum ?? null,
    judgement: judged?.judgement ?? null,
    byLine: judgedSum(bridge.byLine, place, confidencePercent),
  }
}

/** The places of the groups with a mark; null where none has it. */
export function placesWith(
  weighings: readonly GroupWeighing[],
  mark: 'isThin' | 'isProvisional',
): ReadonlySet<number> | null {
  let places: Set<number> | null = null
  for (let i = 0; i < weighings.length; i += 1) {
    const weighing = weighings[i] as GroupWeighing
    if (!weighing.weighed || !weighing[mark]) continue
    places ??= new Set()
    places.add(i)
  }
  return places
}

/** Sets with what the lines make of them, which is worked out when it is asked for. */
function withLine(own: SetWeights, byLine: () => SetWeights): BridgeWeights {
  let made: SetWeights | undefined
  return {
    ...own,
    get byLine() {
      made ??= byLine()
      return made
    },
  }
}

/** A list of weights, or null where one of them is missing. */
const allOf = (weights: readonly (CorrelatedWeight | null)[]): readonly CorrelatedWeight[] | null =>
  weights.every((weight) => weight !== null) ? weights : null

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
  const judge = (one: WeightAndU, limitLb: number, isThin: boolean): Judgement =>
    judgeSum(isNormal(one.weight) ? one : sumWeights([one.weight]), limitLb, confidence, isThin)
  const groups = plan.groups.map(({ limitLb }, i): JudgedGroup => {
    const weighing = weighings[i] as GroupWeighing
    if (!weighing.weighed) return { weighing, limitLb, judgement: null, byLine: null }
    const judgement = judge(weighing, limitLb, weighing.isThin)
    const line = weighing.byLine
    const isSame = line?.weight === weighing.weight
    return { weighing, limitLb, judgement, byLine: isSame ? judgement : line && judge(line, limitLb, false) }
  })
  const ownWeights = weighings.map(best)
  const lineWeights = weighings.map(byLine)
  const isSame = ownWeights.every((weight, i) => weight === lineWeights[i])
  const thin = placesWith(weighings, 'isThin')
  const own = weighSets(ready, ownWeights, thin, lift)
  const missing = weighings.filter((weighing) => !weighing.weighed)
  const limitLb = plan.grossLimitLb
  const grossBy = (weights: readonly (CorrelatedWeight | null)[], isThin: boolean): JudgedSum | null => {
    const all = printed ? [printed] : allOf(weights)
    if (all === null) return null
    const sum = sumWeights(all)
    return { sum, judgement: judgeSum(sum, limitLb, confidence, isThin && !printed) }
  }
  const gross = grossBy(ownWeights, thin !== null)
  return {
    groups,
    bridge: withLine(own, () => (isSame ? own : weighSets(ready, lineWeights, null, lift))),
    gross: {
      limitLb,
      total: gross?.sum ?? null,
      judgement: gross?.judgement ?? null,
      missing,
      weighedLb: ownWeights.reduce((sum, weight) => sum + (weight?.weightLb ?? 0), 0),
      byLine: isSame ? gross : grossBy(lineWeights, false),
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
  /** Of two groups on one platform: neither is judged by it alone, but the gross adds up. */
  readonly together: readonly CommonWeight[]
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
  { scaleId, lift, weightsLb, together, grossLb }: CertifiedTicket,
): CombinationWeights {
  const { scaleOf, rules, groups } = ready.plan
  const scale = scaleOf(scaleId)
  const division = divisionOf(scale, rules)
  const gain = scaleGainUncertainty(toleranceOf(scale, rules))
  const certified = (weightLb: number, weights = 1): CorrelatedWeight => ({
    weightLb,
    ownVarLb2: (weights * division * division) / 12,
    gains: [{ scaleId, lb: gain * weightLb }],
    follows: null,
  })
  const inPairs = new Set(together.flatMap(({ groupIds }) => groupIds))
  const weighings = groups.map(({ place: { groupId, role }, name }): GroupWeighing => {
    const weightLb = weightsLb.get(groupId)
    if (weightLb === undefined && !(role === 'lift' && lift === 'raised')) {
      return {
        weighed: false,
        groupId,
        reason: 'not measured',
        why: [inPairs.has(groupId) ? 'together on ticket' : 'not on ticket', { name }],
      }
    }
    return surelyWeighed(groupId, 'ticket', withU(weightLb === undefined ? exactWeight(0) : certified(weightLb)))
  })
  const isWhole = weighings.every(({ weighed, groupId }) => weighed || inPairs.has(groupId))
  const parts = [...weightsLb.values(), ...together.map(({ weightLb }) => weightLb)]
  const added =
    together.length > 0 && isWhole
      ? certified(
          parts.reduce((sum, lb) => sum + lb, 0),
          parts.length,
        )
      : null
  return judgeCombination(ready, weighings, lift, grossLb === null ? added : certified(grossLb))
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
 * The pressure to load a group to at a time (ms UTC, today's) with its lift axles so, or why its line carries none;
 * null of a group without a gauge.
 */
export function loadToOf(ready: ReadyCombination, place: number, lift: LiftState | null, at: number): LoadTo | null {
  const { groups, rules } = ready.plan
  const { prepared = null, limitLb = 0 } = groups[place] ?? {}
  return prepared?.sensed === true ? loadTo(prepared, limitLb, rules.verdictConfidencePercent, at, lift) : null
}
