import { type SaidVerdict, type Weighing, isDecided, rankOf, saidKey, verdictOfRank } from '#core/weight/heavy.ts'
import type { Judgement } from '#core/weight/verdict.ts'

/** A stored verdict; pOver: the probability it was made by, null for an earlier word that is kept beside it. */
export interface StoredVerdict extends SaidVerdict {
  readonly pOver: number | null
}

/** What was stored of a weighing before it was weighed anew. */
export interface StoredBefore {
  /** What is kept of its onboard weights, by `saidKey`: an earlier word, or else the verdict of then. */
  readonly said: ReadonlyMap<string, StoredVerdict>
  /** Whether a group of the unit, or the gross weight, had a weight then: without a word of it, it was under. */
  readonly wasWeighed: (kind: 'group' | 'gross', unitId: number) => boolean
}

/** The first words about a weighing that are no longer held, by `saidKey`. */
export function saidOtherwise({ ready, ticket, readings }: Weighing, before: StoredBefore): Map<string, SaidVerdict> {
  const otherwise = new Map<string, SaidVerdict>()
  const confidence = ready.plan.rules.verdictConfidencePercent
  // As it is judged now: a row may be there for its line alone, and say of a weight that hardly is over what thin
  // evidence leaves open.
  const wordOf = ({ verdict, weightLb, uLb, pOver }: StoredVerdict): SaidVerdict => ({
    verdict: pOver === null ? verdict : verdictOfRank(rankOf({ verdict, pOver }, confidence)),
    weightLb,
    uLb,
  })
  const hold = (key: string, kind: 'group' | 'gross', unitId: number, judgement: Judgement | null) => {
    if (judgement === null) return
    const under: SaidVerdict | undefined = before.wasWeighed(kind, unitId)
      ? { verdict: 'under', weightLb: null, uLb: null }
      : undefined
    const stored = before.said.get(key)
    const said = stored ? wordOf(stored) : under
    if (said && said.verdict !== verdictOfRank(rankOf(judgement, confidence))) otherwise.set(key, said)
  }
  const lead = ready.units[0]?.unitId
  for (const { readingId, weights } of readings) {
    for (const [place, { weighing, judgement }] of weights.groups.entries()) {
      const unitId = ready.plan.groups[place]?.unitId
      if (unitId === undefined || isDecided(ticket?.groups[place])) continue
      hold(saidKey(readingId, 'group', weighing.groupId), 'group', unitId, judgement)
    }
    if (lead !== undefined && !isDecided(ticket?.gross))
      hold(saidKey(readingId, 'gross', null), 'gross', lead, weights.gross.judgement)
  }
  return otherwise
}
