import { mixtureQuantile, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { standardNormalCdf, standardNormalQuantile } from '#core/line/statistics.ts'
import { type CorrelatedWeight, type WeightSum, sumWeights } from '#core/weight/correlated.ts'
import type { GroupWeighing, UnweighedGroup, WeighedGroup } from '#core/weight/weigh.ts'

export const verdicts = ['under', 'too close to call', 'over'] as const
export type Verdict = (typeof verdicts)[number]

/** A weight judged against a limit. Probabilities 0 to 1, weights lb. */
export interface Judgement {
  readonly limitLb: number
  readonly pOver: number
  readonly verdict: Verdict
  /** Pounds that can still go on and leave the weight `under`; below zero: pounds too many for that. */
  readonly roomLb: number
  /** The evidence is too thin for a sure verdict, whatever the figures say: a change is suspected by one weighing. */
  readonly isThin?: true
}

const multipliers = new Map<number, number>()

/**
 * Coverage factor of a one-sided statement, Φ⁻¹(confidence), such as 1.6449 at 95 %. Confidence in percent, 50 to below
 * 100.
 * Errors: RangeError outside. A fleet asks for the same one again and again, so it is kept.
 */
export function oneSidedFactor(confidencePercent: number): number {
  let factor = multipliers.get(confidencePercent)
  if (factor === undefined) {
    if (!(confidencePercent >= 50 && confidencePercent < 100))
      throw new RangeError(`confidence ${confidencePercent} % is outside 50 to below 100`)
    factor = standardNormalQuantile(confidencePercent / 100)
    multipliers.set(confidencePercent, factor)
  }
  return factor
}

/**
 * Probability that the true weight is over the limit, given a weighing y with standard uncertainty u, taken as normal:
 *   p = Φ((y - limit)/u);  with u = 0 it is 1 above the limit, otherwise 0 (a weight at its limit is lawful).
 * Units: one and the same for all three. Range: finite, u ≥ 0; RangeError outside. Source: JCGM 106:2012, 7.2 and 7.3.
 */
export function probabilityOver(weightLb: number, uLb: number, limitLb: number): number {
  if (!(Number.isFinite(weightLb) && Number.isFinite(limitLb) && uLb >= 0 && uLb < Number.POSITIVE_INFINITY)) {
    throw new RangeError(
      `weight ${weightLb} ± ${uLb} lb against ${limitLb} lb is not finite or has a negative uncertainty`,
    )
  }
  if (uLb === 0) return weightLb > limitLb ? 1 : 0
  return standardNormalCdf((weightLb - limitLb) / uLb)
}

/**
 * Judges a weight against a limit at a one-sided confidence c with k = Φ⁻¹(c):
 *   room = limit - k u - y;   under when room ≥ 0 (p over ≤ 1 - c);   over when y - k u ≥ limit (p over ≥ c);
 *   otherwise too close to call.
 * Adding a known weight leaves the uncertainty as it is, so `room` is exact: y + room is the heaviest that is `under`.
 *
 * Units: lb; confidence in percent. Range: finite, u ≥ 0, confidence 50 to below 100. Errors: RangeError.
 * Source: JCGM 106:2012, 8.3 (guarded acceptance and guarded rejection, one-sided).
 */
export function judgeWeight(weightLb: number, uLb: number, limitLb: number, confidencePercent: number): Judgement {
  const pOver = probabilityOver(weightLb, uLb, limitLb)
  const guardLb = oneSidedFactor(confidencePercent) * uLb
  const roomLb = limitLb - guardLb - weightLb
  let verdict: Verdict = 'too close to call'
  if (roomLb >= 0) verdict = 'under'
  else if (weightLb - guardLb >= limitLb) verdict = 'over'
  return { limitLb, pOver, verdict, roomLb }
}

/**
 * Judges a sum as `judgeWeight` does. Of a mixture the probability is the sum over its parts, and
 *   room = limit - (the weight below which the mixture lies with confidence c).
 * Thin evidence leaves every verdict open.
 */
export function judgeSum(
  { weightLb, uLb, mixture }: WeightSum,
  limitLb: number,
  confidencePercent: number,
  isThin: boolean,
): Judgement {
  const judged =
    mixture === undefined
      ? judgeWeight(weightLb, uLb, limitLb, confidencePercent)
      : judgeMixture(mixture, limitLb, confidencePercent)
  return isThin ? { ...judged, verdict: 'too close to call', isThin } : judged
}

function judgeMixture(
  mixture: NonNullable<WeightSum['mixture']>,
  limitLb: number,
  confidencePercent: number,
): Judgement {
  const pOver = probabilityAbove(mixture, limitLb)
  const confidence = confidencePercent / 100
  const roomLb = limitLb - mixtureQuantile(mixture, confidence)
  return {
    limitLb,
    pOver,
    roomLb,
    verdict: pOver <= 1 - confidence ? 'under' : pOver >= confidence ? 'over' : 'too close to call',
  }
}

/** The gross weight of a combination, or what it lacks and what the weighed groups come to without it. */
export type Gross =
  | (WeightSum & { readonly complete: true })
  | { readonly complete: false; readonly missing: readonly UnweighedGroup[]; readonly weighed: WeightSum }

const isWeighed = (group: GroupWeighing): group is WeighedGroup => group.weighed

/**
 * Gross = Σ group weights with full covariance: an estimated steer weight moves with the drive weight it came from, and
 * groups calibrated on one scale share its gain error. A group without a weight leaves gross incomplete, never smaller.
 * Units: lb, k = 1. Source: JCGM 100:2008 5.2.2, equation (13), see `sumWeights`.
 */
export function grossOf(groups: readonly GroupWeighing[]): Gross {
  const missing: UnweighedGroup[] = []
  const weights: CorrelatedWeight[] = []
  for (const group of groups) {
    if (group.weighed) weights.push(group.weight)
    else missing.push(group)
  }
  const sum = sumWeights(weights)
  return missing.length === 0 ? { complete: true, ...sum } : { complete: false, missing, weighed: sum }
}

/**
 * Cargo = gross - tare, lb, k = 1; a scale behind both the lines and the tare ticket errs alike in both. undefined when
 * gross is incomplete. A few pounds below zero mean an empty combination within the uncertainty.
 */
export function cargoOf(groups: readonly GroupWeighing[], tare: CorrelatedWeight): WeightSum | undefined {
  if (!groups.every(isWeighed)) return undefined
  return sumWeights([...groups.map(({ weight }) => weight), tare], [...groups.map(() => 1), -1])
}
