import type { SetLayout } from '#core/weight/bridge.ts'
import {
  type CombinationWeights,
  type JudgedSet,
  type SetWeights,
  judgedSet,
  placesWith,
  setExcess,
  setVerdict,
  standsOn,
} from '#core/weight/combination-weights.ts'
import { type Judgement, type Verdict, oneSidedFactor, verdicts } from '#core/weight/verdict.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'

export const limitKinds = ['group', 'gross', 'bridge'] as const
export type LimitKind = (typeof limitKinds)[number]

export const heavySources = ['ticket', 'onboard'] as const
export type HeavySource = (typeof heavySources)[number]

/** Of a weight that is heavy by all evidence; by its line alone it may be, and under by all evidence. */
export const heavyVerdicts = ['over', 'too close to call'] as const satisfies readonly Verdict[]

/** 0 under, 1 too close to call, 2 over: the larger the worse. */
export type VerdictRank = 0 | 1 | 2
const ranks: Readonly<Record<Verdict, VerdictRank>> = { under: 0, 'too close to call': 1, over: 2 }

/** What the line in use makes of a weight, lb. */
export interface LineVerdict {
  readonly weightLb: number
  readonly uLb: number
  readonly verdict: Verdict
}

/** A verdict that was said of an onboard weight before, lb; the weight of one that was under was not kept. */
export interface SaidVerdict {
  readonly verdict: Verdict
  readonly weightLb: number | null
  readonly uLb: number | null
}

/** What a verdict is about, within a weighing: a reading's group, or its gross. */
export const saidKey = (readingId: number | null, kind: LimitKind, groupId: number | null): string =>
  `${readingId} ${kind} ${groupId ?? ''}`

/** A weight that is over a limit or too close to call, by all evidence or by what the lines read; lb. */
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
  readonly verdict: Verdict
  /** null for a ticket, and where a group has no line. */
  readonly byLine: LineVerdict | null
  /** A provisional line has a part in it. */
  readonly isProvisional: boolean
  /** What was said of it first, where that is no longer held. */
  readonly said: SaidVerdict | null
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

/** What thin evidence leaves open is no matter of the log where it is over with less than this probability. */
const hardlyOver = 0.001
const hardlyFactor = oneSidedFactor(100 * (1 - hardlyOver))

/** The probability from which on a weight that is left open counts, at a confidence in percent. */
const leastOver = (confidencePercent: number): number => Math.min(hardlyOver, 1 - confidencePercent / 100)

/** The verdict of a rank. */
export const verdictOfRank = (rank: VerdictRank): Verdict =>
  verdicts.find((verdict) => ranks[verdict] === rank) ?? 'under'

/**
 * The rank of a verdict, just made or stored, at the confidence (percent) of the House Rules. At that confidence only
 * thin evidence leaves open what is hardly over.
 */
export const rankOf = (
  { verdict, pOver }: Pick<Judgement, 'verdict' | 'pOver'>,
  confidencePercent: number,
): VerdictRank => (verdict === 'too close to call' && pOver < leastOver(confidencePercent) ? 0 : ranks[verdict])

function rankOfSet(bridge: SetWeights, place: number, excess: number, factor: number): VerdictRank {
  const verdict = setVerdict(bridge, place, excess, factor)
  return verdict === 'too close to call' && excess < -Math.max(hardlyFactor, factor) ? 0 : ranks[verdict]
}

type Base = Pick<HeavyWeight, 'source' | 'readingId'>

/** The worst bridge set that is heavy, by how far it is over in its own uncertainty, and how many share its verdict. */
function worstPlace(
  bridge: SetWeights,
  confidencePercent: number,
): { readonly place: number; readonly more: number } | undefined {
  const factor = oneSidedFactor(confidencePercent)
  let place = -1
  let worst: VerdictRank = 0
  let most = 0
  let same = 0
  for (let i = 0; i < bridge.sets.length; i += 1) {
    if ((bridge.usLb[i] as number) < 0 || !(bridge.sets[i] as SetLayout).isOwnLimit) continue
    const excess = setExcess(bridge, i)
    const rank = rankOfSet(bridge, i, excess, factor)
    if (rank === 0 || rank < worst) continue
    same = rank === worst ? same + 1 : 1
    if (rank > worst || excess > most) {
      place = i
      most = excess
    }
    worst = rank
  }
  return place < 0 ? undefined : { place, more: same - 1 }
}

/** The worst bridge set by all evidence, or else by what the lines read. */
function worstSet(
  ready: ReadyCombination,
  { bridge }: CombinationWeights,
): { readonly worst: JudgedSet; readonly place: number; readonly more: number } | undefined {
  const confidence = ready.plan.rules.verdictConfidencePercent
  const found = worstPlace(bridge, confidence) ?? worstPlace(bridge.byLine, confidence)
  return found && { ...found, worst: judgedSet(bridge, found.place, confidence) }
}

const lineVerdict = (
  weight: { readonly weightLb: number; readonly uLb: number } | null | undefined,
  judgement: Judgement | null | undefined,
): LineVerdict | null =>
  weight && judgement ? { weightLb: weight.weightLb, uLb: weight.uLb, verdict: judgement.verdict } : null

/** The weights of one source that are over or too close, with what the ticket has decided already. */
function heavyOf(
  ready: ReadyCombination,
  weights: CombinationWeights,
  base: Base,
  ticket: CombinationWeights | null,
  otherwise: ReadonlyMap<string, SaidVerdict>,
): HeavyWeight[] {
  const found: HeavyWeight[] = []
  const lead = ready.units[0]?.unitId
  const isOnboard = base.source === 'onboard'
  const confidence = ready.plan.rules.verdictConfidencePercent
  const isHeavy = (judged: Judgement | null | undefined): boolean => !!judged && rankOf(judged, confidence) > 0
  const provisional = placesWith(
    weights.groups.map(({ weighing }) => weighing),
    'isProvisional',
  )
  for (const [place, { weighing, limitLb, judgement, byLine }] of weights.groups.entries()) {
    const said = otherwise.get(saidKey(base.readingId, 'group', weighing.groupId)) ?? null
    if (!weighing.weighed || judgement === null) continue
    if (said === null && !isHeavy(judgement) && !isHeavy(byLine)) continue
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
      verdict: judgement.verdict,
      byLine: isOnboard ? lineVerdict(weighing.byLine, byLine) : null,
      isProvisional: weighing.isProvisional,
      said,
    })
  }
  if (lead === undefined) return found
  const { total, judgement, limitLb, byLine } = weights.gross
  const said = otherwise.get(saidKey(base.readingId, 'gross', null)) ?? null
  if (judgement && total && (said !== null || isHeavy(judgement) || isHeavy(byLine?.judgement))) {
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
      verdict: judgement.verdict,
      byLine: isOnboard ? lineVerdict(byLine?.sum, byLine?.judgement) : null,
      isProvisional: provisional !== null,
      said,
    })
  }
  const sets = worstSet(ready, weights)
  if (sets?.worst.sum && sets.worst.judgement) {
    const {
      worst: { set, sum, judgement: judged, byLine: line },
      place,
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
      pOver: judged.pOver,
      verdict: judged.verdict,
      byLine: isOnboard ? lineVerdict(line?.sum, line?.judgement) : null,
      isProvisional: provisional !== null && standsOn(weights.bridge, place, provisional),
      said: null,
      set: { firstAxle: set.firstAxle, lastAxle: set.lastAxle, lengthFt: set.lengthFt, more },
    })
  }
  return found
}

/** Whether the ticket of a weighing decides about one thing. */
export const isDecided = (judged: { readonly judgement: Judgement | null } | undefined): boolean =>
  judged !== undefined && judged.judgement !== null

/** A ticket decides about bridge sets when it carries the weight of every group. */
const decidesBridge = (ticket: CombinationWeights | null): boolean =>
  ticket !== null && ticket.bridge.sets.length > 0 && ticket.bridge.usLb.every((uLb) => uLb >= 0)

/**
 * Every weight of a weighing that is over a limit or too close to call: each group, gross, and the worst bridge set
 * that is a limit of its own (overlapping sets are over together). What both the ticket and a reading weighed is told
 * twice, and the onboard weight is marked: the certified scale decides. What was said otherwise before
 * (`saidOtherwise`) is told whatever it is now.
 */
export function heavyWeights(
  { ready, ticket, readings }: Weighing,
  otherwise: ReadonlyMap<string, SaidVerdict> = new Map(),
): HeavyWeight[] {
  return [
    ...(ticket ? heavyOf(ready, ticket, { source: 'ticket', readingId: null }, null, otherwise) : []),
    ...readings.flatMap(({ readingId, weights }) =>
      heavyOf(ready, weights, { source: 'onboard', readingId }, ticket, otherwise),
    ),
  ]
}

const worse = (a: VerdictRank | null, b: VerdictRank | null): VerdictRank | null =>
  a === null || (b !== null && b > a) ? b : a

/** Raises the bridge verdicts of the units by what one source says of their sets. */
function judgeBridge(ready: ReadyCombination, { bridge }: CombinationWeights, worstOf: (VerdictRank | null)[]): void {
  const factor = oneSidedFactor(ready.plan.rules.verdictConfidencePercent)
  for (let i = 0; i < bridge.sets.length; i += 1) {
    const { isOwnLimit, units } = bridge.sets[i] as SetLayout
    if ((bridge.usLb[i] as number) < 0 || !isOwnLimit) continue
    const rank = rankOfSet(bridge, i, setExcess(bridge, i), factor)
    for (const unit of units) worstOf[unit] = worse(worstOf[unit] ?? null, rank)
  }
}

/** The worst verdicts about each unit of a weighing, in coupling order. */
export function unitVerdicts({ ready, ticket, readings }: Weighing): UnitVerdicts[] {
  const { units, plan } = ready
  const rankOrNull = (judgement: Judgement | null): VerdictRank | null =>
    judgement && rankOf(judgement, plan.rules.verdictConfidencePercent)
  const ofGroups = units.map((): VerdictRank | null => null)
  const ofBridge = units.map((): VerdictRank | null => null)
  let gross: VerdictRank | null = ticket ? rankOrNull(ticket.gross.judgement) : null
  const ticketBridge = decidesBridge(ticket)
  if (ticket && ticketBridge) judgeBridge(ready, ticket, ofBridge)
  for (const { weights } of readings) {
    if (!isDecided(ticket?.gross)) gross = worse(gross, rankOrNull(weights.gross.judgement))
    if (!ticketBridge) judgeBridge(ready, weights, ofBridge)
  }
  let unit = 0
  for (const [place, { unitId }] of plan.groups.entries()) {
    if (units[unit]?.unitId !== unitId) unit = units.findIndex((own) => own.unitId === unitId)
    const decided = ticket?.groups[place]
    if (decided && isDecided(decided)) ofGroups[unit] = worse(ofGroups[unit] ?? null, rankOrNull(decided.judgement))
    else
      for (const { weights } of readings)
        ofGroups[unit] = worse(ofGroups[unit] ?? null, rankOrNull(weights.groups[place]?.judgement ?? null))
  }
  const worstOf = (ranks: readonly (VerdictRank | null)[]): VerdictRank | null => ranks.reduce(worse, null)
  return units.map(
    ({ unitId }, i): UnitVerdicts =>
      i === 0
        ? { unitId, leads: true, group: worstOf(ofGroups), gross, bridge: worstOf(ofBridge) }
        : { unitId, leads: false, group: ofGroups[i] ?? null, gross, bridge: ofBridge[i] ?? null },
  )
}

/** How often a unit (or a driver, a yard) weighed heavy. heavy may be a sum of probabilities, 0 to weighings. */
export interface HeavyCount<Id> {
  readonly id: Id
  readonly heavy: number
  readonly weighings: number
}

export interface HeavyRate<Id> extends HeavyCount<Id> {
  /** heavy/weighings, as counted. */
  readonly rate: number
  /** Drawn towards the fleet's rate; what offenders are ranked by. */
  readonly shrunkRate: number
  /** Standard deviation of the true rate, given the counts. */
  readonly uShrunkRate: number
  /** How many weighings' worth stand behind it: the unit's own and those of the fleet beside them. */
  readonly worth: number
}

/** The fleet's own rate and how many weighings' worth it counts against a unit's own record. */
export interface FleetRate {
  readonly rate: number
  readonly weight: number
}

/** Fewer would let one heavy load of a rarely used truck stand at the top. */
const leastWeight = 2

/**
 * The fleet's rate and its weight M = α + β by the method of moments for beta-binomial counts. With n weighings in all,
 * m the pooled rate, S = Σ nᵢ (pᵢ - m)² and ρ = 1/(M + 1) the correlation of two weighings of one unit,
 *   E S = m (1 - m) [ρ (n - Σ nᵢ²/n) + (1 - ρ)(N - 1)],
 * solved for ρ. Where that gives none (one unit; no or only heavy weighings; less spread than chance alone) M is n: the
 * units do not differ as far as the counts tell. M is held between 2 and n. The pooled rate counts half a heavy
 * weighing more, of one more, so that a clean fleet's rate is small and not zero.
 *
 * Range: weighings > 0 and 0 ≤ heavy ≤ weighings, others are a caller's mistake (RangeError).
 * Source: moments of Kleinman, J. Am. Stat. Assoc. 68 (1973) 46, with weights nᵢ (from memory; the expectation is
 * derived here and tested by simulation); half a count: Jeffreys' prior.
 */
export function fleetRate(counts: readonly HeavyCount<unknown>[]): FleetRate {
  let heavy = 0
  let n = 0
  let squares = 0
  for (const count of counts) {
    if (!(count.weighings > 0 && count.heavy >= 0 && count.heavy <= count.weighings)) {
      throw new RangeError(`${count.heavy} heavy of ${count.weighings} weighings is not a count`)
    }
    heavy += count.heavy
    n += count.weighings
    squares += count.weighings * count.weighings
  }
  const rate = (heavy + 0.5) / (n + 1)
  const pooled = heavy / n
  let spread = 0
  for (const count of counts) spread += count.weighings * (count.heavy / count.weighings - pooled) ** 2
  const free = counts.length - 1
  const rho = (spread / (pooled * (1 - pooled)) - free) / (n - squares / n - free)
  const weight = Number.isFinite(rho) && rho > 0 ? 1 / rho - 1 : n
  return { rate, weight: Math.max(leastWeight, Math.min(weight, n)) }
}

/**
 * Draws one unit's rate towards the fleet's: the mean and standard deviation of its true rate under a beta prior with
 * the fleet's mean and weight M,  r = (m M + heavy)/(M + weighings),  √(r (1 - r)/(M + weighings + 1)).
 */
export function shrinkRate<Id>({ id, heavy, weighings }: HeavyCount<Id>, { rate, weight }: FleetRate): HeavyRate<Id> {
  const shrunkRate = (rate * weight + heavy) / (weight + weighings)
  return {
    id,
    heavy,
    weighings,
    rate: heavy / weighings,
    shrunkRate,
    uShrunkRate: Math.sqrt((shrunkRate * (1 - shrunkRate)) / (weight + weighings + 1)),
    worth: weight + weighings,
  }
}

/**
 * Worst offenders first, by the shrunk rate; a tie goes to the more certain. Units without a weighing are left out. One
 * bad day of a rarely used truck does not top the list, since a single weighing moves it little from the fleet's rate.
 * `of`: the whole fleet's counts where only some of it is ranked, so that a yard's units are held against the one rate.
 */
export function worstOffenders<Id>(
  counts: readonly HeavyCount<Id>[],
  of: readonly HeavyCount<unknown>[] = counts,
): HeavyRate<Id>[] {
  const weighed = counts.filter(({ weighings }) => weighings > 0)
  if (weighed.length === 0) return []
  const fleet = fleetRate(of.filter(({ weighings }) => weighings > 0))
  return weighed
    .map((count) => shrinkRate(count, fleet))
    .sort((a, b) => b.shrunkRate - a.shrunkRate || b.weighings - a.weighings)
}
