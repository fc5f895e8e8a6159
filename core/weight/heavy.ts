import { type CombinationWeights, type JudgedSet, judgedSet } from '#core/weight/combination-weights.ts'
import type { SetLayout } from '#core/weight/set-layout.ts'
import { type Judgement, oneSidedFactor, type Verdict } from '#core/weight/verdict.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'

export const limitKinds = ['group', 'gross', 'bridge'] as const
export type LimitKind = (typeof limitKinds)[number]

export const heavySources = ['ticket', 'onboard'] as const
export type HeavySource = (typeof heavySources)[number]

export const heavyVerdicts = ['over', 'too close to call'] as const
export type HeavyVerdict = (typeof heavyVerdicts)[number]

/** 0 under, 1 too close to call, 2 over: the larger the worse. */
export type VerdictRank = 0 | 1 | 2
const ranks: Readonly<Record<Verdict, VerdictRank>> = { under: 0, 'too close to call': 1, over: 2 }

/** A weight that is over a limit or too close to call, lb. */
export interface HeavyWeight {
  readonly source: HeavySource
  /** The reading of an onboard weight; null for the ticket itself. */
  readonly readingId: number | null
  /** Whether the ticket of the same weighing decides about the same thing. */
  readonly superseded: boolean
  /** Whose limit it is: the group's unit, or the one at the head of the combination. */
  readonly unitId: number
  readonly kind: LimitKind
  readonly groupId: number | null
  /** Of kind bridge: the worst set of the weighing, and how many more sets are as bad. */
  readonly set: {
    readonly firstAxle: number
    readonly lastAxle: number
    readonly lengthFt: number
    readonly more: number
  } | null
  readonly weightLb: number
  readonly uLb: number
  readonly limitLb: number
  readonly pOver: number
  readonly verdict: HeavyVerdict
}

/**
 * The worst verdicts about one unit in one weighing: about its groups, gross, and the bridge sets that it has axles in;
 * about everything for the unit at the head. null where nothing of the kind was weighed.
 */
export interface UnitVerdicts {
  readonly unitId: number
  readonly leads: boolean
  readonly group: VerdictRank | null
  readonly gross: VerdictRank | null
  readonly bridge: VerdictRank | null
}

/**
 * One look at a combination: a ticket, a reading, or a ticket with the readings that belong to it; all of the same
 * units.
 */
export interface Weighing {
  readonly ready: ReadyCombination
  readonly ticket: CombinationWeights | null
  readonly readings: readonly { readonly readingId: number; readonly weights: CombinationWeights }[]
}

const heavyVerdictOf = ({ verdict }: Judgement): HeavyVerdict | null => (verdict === 'under' ? null : verdict)

type Base = Pick<HeavyWeight, 'source' | 'readingId'>

/**
 * The worst bridge set that is over or too close, by how far it is over in its own uncertainty, and how many share its
 * verdict.
 */
function worstSet(
  ready: ReadyCombination,
  { bridge }: CombinationWeights,
): { worst: JudgedSet; more: number } | undefined {
  const confidence = ready.plan.rules.verdictConfidencePercent
  const factor = oneSidedFactor(confidence)
  let place = -1
  let most = -factor
  let over = 0
  let close = 0
  for (let i = 0; i < bridge.sets.length; i += 1) {
    const uLb = bridge.usLb[i] as number
    const { isOwnLimit, limitLb } = bridge.sets[i] as SetLayout
    if (uLb < 0 || !isOwnLimit) continue
    const excess = ((bridge.weightsLb[i] as number) - limitLb) / (uLb || 1)
    if (excess <= -factor) continue
    if (excess >= factor) over += 1
    else close += 1
    if (excess > most) {
      place = i
      most = excess
    }
  }
  if (place < 0) return undefined
  return { worst: judgedSet(bridge, place, confidence), more: (most >= factor ? over : close) - 1 }
}

/** The weights of one source that are over or too close, with what the ticket has decided already. */
function heavyOf(
  ready: ReadyCombination,
  weights: CombinationWeights,
  base: Base,
  ticket: CombinationWeights | null,
): HeavyWeight[] {
  const found: HeavyWeight[] = []
  const lead = ready.units[0]?.unitId
  for (const [place, { weighing, limitLb, judgement }] of weights.groups.entries()) {
    const verdict = judgement && heavyVerdictOf(judgement)
    if (!verdict || !weighing.weighed) continue
    found.push({
      ...base,
      kind: 'group',
      unitId: ready.plan.groups[place]?.unitId as number,
      groupId: weighing.groupId,
      set: null,
      superseded: isDecided(ticket?.groups[place]),
      weightLb: weighing.weightLb,
      uLb: weighing.uLb,
      limitLb,
      pOver: judgement.pOver,
      verdict,
    })
  }
  if (lead === undefined) return found
  const { total, judgement, limitLb } = weights.gross
  const grossVerdict = judgement && heavyVerdictOf(judgement)
  if (grossVerdict && total) {
    found.push({
      ...base,
      kind: 'gross',
      unitId: lead,
      groupId: null,
      set: null,
      superseded: isDecided(ticket?.gross),
      weightLb: total.weightLb,
      uLb: total.uLb,
      limitLb,
      pOver: judgement.pOver,
      verdict: grossVerdict,
    })
  }
  const sets = worstSet(ready, weights)
  const setVerdict = sets?.worst.judgement && heavyVerdictOf(sets.worst.judgement)
  if (sets?.worst.sum && sets.worst.judgement && setVerdict) {
    const {
      worst: {
        set,
        sum,
        judgement: { pOver },
      },
      more,
    } = sets
    found.push({
      ...base,
      kind: 'bridge',
      unitId: lead,
      groupId: null,
      superseded: decidesBridge(ticket),
      weightLb: sum.weightLb,
      uLb: sum.uLb,
      limitLb: set.limitLb,
      pOver,
      verdict: setVerdict,
      set: { firstAxle: set.firstAxle, lastAxle: set.lastAxle, lengthFt: set.lengthFt, more },
    })
  }
  return found
}

const isDecided = (judged: { readonly judgement: Judgement | null } | undefined): boolean =>
  judged !== undefined && judged.judgement !== null

/** A ticket decides about bridge sets when it carries the weight of every group. */
const decidesBridge = (ticket: CombinationWeights | null): boolean =>
  ticket !== null && ticket.bridge.sets.length > 0 && ticket.bridge.usLb.every((uLb) => uLb >= 0)

/**
 * Every weight of a weighing that is over a limit or too close to call: each group, gross, and the worst bridge set
 * that is a limit of its own (overlapping sets are over together). What both the ticket and a reading weighed is told
 * twice, and the onboard weight is marked: the certified scale decides.
 */
export function heavyWeights({ ready, ticket, readings }: Weighing): HeavyWeight[] {
  return [
    ...(ticket ? heavyOf(ready, ticket, { source: 'ticket', readingId: null }, null) : []),
    ...readings.flatMap(({ readingId, weights }) => heavyOf(ready, weights, { source: 'onboard', readingId }, ticket)),
  ]
}

const worse = (a: VerdictRank | null, b: VerdictRank | null): VerdictRank | null =>
  a === null || (b !== null && b > a) ? b : a
const rankOf = (judgement: Judgement | null): VerdictRank | null =>
  judgement === null ? null : ranks[judgement.verdict]

/** Raises the bridge verdicts of the units by what one source says of their sets. */
function judgeBridge(ready: ReadyCombination, { bridge }: CombinationWeights, worstOf: (VerdictRank | null)[]): void {
  const factor = oneSidedFactor(ready.plan.rules.verdictConfidencePercent)
  for (let i = 0; i < bridge.sets.length; i += 1) {
    const uLb = bridge.usLb[i] as number
    const { isOwnLimit, units, limitLb } = bridge.sets[i] as SetLayout
    if (uLb < 0 || !isOwnLimit) continue
    const excess = ((bridge.weightsLb[i] as number) - limitLb) / (uLb || 1)
    const rank = excess <= -factor ? 0 : excess >= factor ? 2 : 1
    for (const unit of units) worstOf[unit] = worse(worstOf[unit] ?? null, rank)
  }
}

/** The worst verdicts about each unit of a weighing, in coupling order. */
export function unitVerdicts({ ready, ticket, readings }: Weighing): UnitVerdicts[] {
  const { units, plan } = ready
  const ofGroups = units.map((): VerdictRank | null => null)
  const ofBridge = units.map((): VerdictRank | null => null)
  let gross: VerdictRank | null = ticket ? rankOf(ticket.gross.judgement) : null
  const ticketBridge = decidesBridge(ticket)
  if (ticket && ticketBridge) judgeBridge(ready, ticket, ofBridge)
  for (const { weights } of readings) {
    if (!isDecided(ticket?.gross)) gross = worse(gross, rankOf(weights.gross.judgement))
    if (!ticketBridge) judgeBridge(ready, weights, ofBridge)
  }
  let unit = 0
  for (const [place, { unitId }] of plan.groups.entries()) {
    if (units[unit]?.unitId !== unitId) unit = units.findIndex((own) => own.unitId === unitId)
    const decided = ticket?.groups[place]
    if (decided && isDecided(decided)) ofGroups[unit] = worse(ofGroups[unit] ?? null, rankOf(decided.judgement))
    else
      for (const { weights } of readings)
        ofGroups[unit] = worse(ofGroups[unit] ?? null, rankOf(weights.groups[place]?.judgement ?? null))
  }
  const worstOf = (ranks: readonly (VerdictRank | null)[]): VerdictRank | null => ranks.reduce(worse, null)
  return units.map(
    ({ unitId }, i): UnitVerdicts =>
      i === 0
        ? { unitId, leads: true, group: worstOf(ofGroups), gross, bridge: worstOf(ofBridge) }
        : { unitId, leads: false, group: ofGroups[i] ?? null, gross, bridge: ofBridge[i] ?? null },
  )
}
