import { type SinceWhen, sinceWhen } from '#core/evidence/state/best-weight.ts'
import type { LineState } from '#core/evidence/state/line-state.ts'
import { monthMs } from '#core/line/track.ts'

/**
 * From this probability on of something unexplained a line is called suspect. A choice, by the test bed: at 0.4 one
 * clean line in a hundred is ever suspected in two years of checks, and an offset of 1,000 lb is at its first or
 * second.
 */
export const suspectedAt = 0.4

/** What is thought of one weighing, over all stories: probabilities, lb and psi. */
export interface WeighingOpinion {
  readonly tail: number
  readonly wild: number
  readonly slip: number
  /** The most probable slip's place among those asked for; -1 when none was. */
  readonly slipPlace: number
}

/** The opinion on the weighing at a place. */
export function opinionOf({ stories }: LineState, place: number): WeighingOpinion {
  let tail = 0
  let wild = 0
  let slip = 0
  let slipPlace = -1
  let most = 0
  for (const { probability, sites } of stories) {
    const own = probability * (sites.slip[place] as number)
    tail += probability * (sites.tail[place] as number)
    wild += probability * (sites.wild[place] as number)
    slip += own
    if (own > most) {
      most = own
      slipPlace = sites.slipPlace[place] as number
    }
  }
  return { tail, wild, slip, slipPlace }
}

/** What a pressure is in the unit that it seems to have been noted in: gauge, psi, and how probable that is. */
export interface OtherUnit {
  readonly psi: number
  readonly probability: number
}

/**
 * What the weighing at a place was if its pressure was noted in another unit; null where that is not to be suspected.
 */
export function inOtherUnit({ stories, columns }: LineState, place: number): OtherUnit | null {
  let probability = 0
  let most = 0
  let psi = 0
  for (const { probability: own, sites } of stories) {
    const slip = own * (sites.slip[place] as number)
    // Slips are worked out when they are asked for.
    if (!(slip > 0)) continue
    const { option } = columns.slips(place)[sites.slipPlace[place] as number] ?? {}
    if (option?.code !== 'wrong-pressure-unit') continue
    probability += slip
    if (slip > most) {
      most = slip
      psi = option.psi
    }
  }
  return probability >= suspectedAt ? { psi, probability: Math.min(1, probability) } : null
}

/**
 * Probability that something is to be looked at: that the line has changed, or that its newest weighing is wild or a
 * slip. An ordinary miss and a tail of the leveling are neither. newest: null where that is explained already.
 */
export function suspicionOf(change: SinceWhen | null, newest: WeighingOpinion | null): number {
  const changed = change?.probability ?? 0
  return changed + (1 - changed) * (newest === null ? 0 : newest.wild + newest.slip)
}

/** What a weighing missed by, lb, its standard uncertainty while nothing is wrong, and their ratio. */
export interface Miss {
  readonly missLb: number
  readonly uMissLb: number
  readonly z: number
}

/**
 * What the weighing at a place missed by of what those before it led to expect, while nothing is wrong: z is standard
 * normal then, tails apart.
 */
export function missAt({ columns, plain }: LineState, place: number): Miss {
  const missLb = (columns.weight[place] as number) - (plain.mean[place] as number)
  const uMissLb = Math.sqrt((plain.variance[place] as number) + (columns.varOrdinary[place] as number))
  return { missLb, uMissLb, z: missLb / uMissLb }
}

/** Whether a line can be weighed by as its weighings stand. */
export interface Standing {
  /** A change is suspected, or the newest weighing is wild, and that is not established: more weighings must tell. */
  readonly isSuspect: boolean
  /** From when on one weighing alone speaks for that, ms: no verdict is sure from then on; Infinity: never. */
  readonly thinFrom: number
}

/**
 * A wild weighing and a change look alike until the next one; a slip is an explanation, and leaves the line as it was.
 */
export function standingOf(state: LineState, since: SinceWhen | null = sinceWhen(state)): Standing {
  const { size, months, from } = state.columns
  const changed = since?.probability ?? 0
  const isSuspect = changed + opinionOf(state, size - 1).wild >= suspectedAt && since?.established !== true
  const isThin = isSuspect && size > 1 && (since === null || changed < suspectedAt || since.weighingsSince < 2)
  return { isSuspect, thinFrom: isThin ? from + (months[size - 2] as number) * monthMs : Number.POSITIVE_INFINITY }
}
