import { settlingPsi } from '#core/evidence/state/life-states.ts'
import type { LineState } from '#core/evidence/state/line-state.ts'
import { driftBegins } from '#core/evidence/state/place-changes.ts'
import { stride } from '#core/evidence/state/sites.ts'
import { type TwoWeights, monthMs } from '#core/line/track.ts'

/**
 * The line's weights at its two pressures at a time after its last weighing, over all stories together: their means and
 * the covariance that the stories and the doubt between them leave, lb and lb².
 */
export function weightsNow({ columns, stories, sizes }: LineState, at: number): TwoWeights {
  const { size, months, from, wanderVar, wanderCov } = columns
  const month = (at - from) / monthMs
  const since = Math.max(0, month - (months[size - 1] ?? 0))
  const place = stride * (size - 1)
  const sum = { atEmpty: 0, atLimit: 0, empty: 0, limit: 0, both: 0 }
  for (const { probability, pass, changes } of stories) {
    const of = (i: number) => pass.state[place + i] as number
    const drift = changes.find(({ kind }) => kind === 'drift')
    const reach = drift === undefined ? 0 : sizes.driftLbPerMonth * Math.max(0, month - driftBegins(months, drift.gap))
    const empty = of(0) + reach * of(2)
    const limit = of(1) + reach * of(2)
    const common = reach * reach * of(8)
    sum.atEmpty += probability * empty
    sum.atLimit += probability * limit
    sum.empty += probability * (empty * empty + of(3) + wanderVar * since + 2 * reach * of(6) + common)
    sum.limit += probability * (limit * limit + of(5) + wanderVar * since + 2 * reach * of(7) + common)
    sum.both += probability * (empty * limit + of(4) + wanderCov * since + reach * (of(6) + of(7)) + common)
  }
  const { atEmpty, atLimit, empty, limit, both } = sum
  return {
    atEmpty,
    atLimit,
    varEmpty: empty - atEmpty * atEmpty,
    varLimit: limit - atLimit * atLimit,
    cov: both - atEmpty * atLimit,
  }
}

/** A scale that a group could be weighed on. */
export interface ScaleToWeighOn {
  readonly scaleId: number
  /** Standard uncertainty of its gain, relative, and of one ticket's own rounding and repeatability, lb. */
  readonly uGain: number
  readonly uTicketLb: number
}

/** One weighing that could be made, and the standard uncertainty of the weight at the limit without and with it, lb. */
export interface WeighingGain {
  readonly share: number
  readonly scaleId: number
  readonly uNowLb: number
  readonly uAfterLb: number
}

/**
 * What one weighing at a share of the span (0 empty, 1 at the limit) would leave of the uncertainty at the limit: the
 * best linear use of what the ticket will show,
 *   gain g = cov(limit, shown)/var(shown),   u² = var(limit) - g cov(limit, shown) + scales,
 * where every scale's error, common to all its tickets, weighs by its share of them, before (nₖ/n) and after
 * ((1 - g) nₖ/n, and g more for the scale weighed on): a second scale teaches more than the first one again. Where the
 * weighing would decide between stories it teaches more than this says.
 *
 * now: `weightsNow` of the day. Units lb. Range: a life with at least one weighing. Source: linear least squares
 * (Gauss-Markov), as one step of a Kalman filter.
 */
export function weighingGain(
  { columns }: Pick<LineState, 'columns'>,
  now: TwoWeights,
  share: number,
  scale: ScaleToWeighOn,
): WeighingGain {
  const { series, noise, scales } = columns
  const { atEmpty, atLimit, varEmpty, varLimit, cov } = now
  const empty = 1 - share
  const shownLb = empty * atEmpty + share * atLimit
  const own = scale.uTicketLb ** 2 + (series.slopeLbPerPsi * settlingPsi(noise)) ** 2
  const shown = empty * empty * varEmpty + 2 * empty * share * cov + share * share * varLimit
  const together = empty * cov + share * varLimit
  const gain = together / (shown + own + (shownLb * scale.uGain) ** 2)
  let before = 0
  let after = 0
  let isNew = true
  for (const { scaleId, u } of scales) {
    const more = scaleId === scale.scaleId ? gain * scale.uGain : 0
    if (scaleId === scale.scaleId) isNew = false
    before += (u * atLimit) ** 2
    after += (((1 - gain) * u + more) * atLimit) ** 2
  }
  if (isNew) after += (gain * scale.uGain * atLimit) ** 2
  const uNowLb = Math.sqrt(varLimit + before)
  // The shares of tickets are not the best weights of the scales: where they would make it worse, nothing is learnt.
  const uAfterLb = Math.min(uNowLb, Math.sqrt(Math.max(0, varLimit - gain * together) + after))
  return { share, scaleId: scale.scaleId, uNowLb, uAfterLb }
}

/** Loads that a driver can be sent to the scale with: empty, and near the limit. */
const loadsToWeigh = [0, 1] as const

/** What each weighing that could be made would leave, the one that teaches most first. */
export function teachingWeighings(state: LineState, at: number, scales: readonly ScaleToWeighOn[]): WeighingGain[] {
  const now = weightsNow(state, at)
  return scales
    .flatMap((scale) => loadsToWeigh.map((share) => weighingGain(state, now, share, scale)))
    .sort((a, b) => a.uAfterLb - b.uAfterLb)
}
