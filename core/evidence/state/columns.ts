import type { ChangePriors, LifeSeries, LineNoise, SlipOption } from '#core/evidence/state/series.ts'
import { type TwoWeights, monthMs } from '#core/line/track.ts'

/** A life in flat numbers, as the passes over it read it. Times are months since its first point. */
export interface Columns {
  readonly size: number
  readonly from: number
  readonly months: Float64Array
  readonly share: Float64Array
  /** Ticket weight less the scale's estimated bias, lb. */
  readonly weight: Float64Array
  /** Variance of each ticket, its scale and the sensors' resolution, lb². */
  readonly varOther: Float64Array
  /** Variance of an ordinary, of a tail and of a wild weighing about its line, lb². */
  readonly varOrdinary: Float64Array
  readonly varTail: Float64Array
  readonly varWild: Float64Array
  /** Probabilities of the three before looking. */
  readonly shareOrdinary: number
  readonly shareTail: number
  readonly shareWild: number
  /** What wandering adds in a month: variance of either end and their covariance, lb². */
  readonly wanderVar: number
  readonly wanderCov: number
  readonly prior: TwoWeights
  /** Relative standard uncertainty that each scale's own error, common to its tickets, leaves on every weight read. */
  readonly scales: readonly { readonly scaleId: number; readonly u: number }[]
  /** Relative variance of all scales together. */
  readonly varScales: number
  readonly series: LifeSeries
  readonly noise: LineNoise
  readonly priors: ChangePriors
  /** Slips of a point as shares and bias-free weights; worked out when first asked for. */
  readonly slips: (place: number) => readonly SlipColumn[]
}

export interface SlipColumn {
  readonly option: SlipOption
  readonly weight: number
  readonly share: number
  readonly logPrior: number
  /** Whether the pressure is another, so that the line is read elsewhere. */
  readonly elsewhere: boolean
}

const smallestSpanPsi = 1
/** No weighing is known better than this, lb: it keeps every variance positive. */
const smallestSd = 1

function requireSound({ points, emptyPsi, limitPsi, slopeLbPerPsi, prior }: LifeSeries): void {
  if (!(limitPsi - emptyPsi >= smallestSpanPsi))
    throw new RangeError(`the limit pressure ${limitPsi} psi is not ${smallestSpanPsi} psi above the empty one`)
  if (!(slopeLbPerPsi > 0 && slopeLbPerPsi < Number.POSITIVE_INFINITY))
    throw new RangeError(`the slope ${slopeLbPerPsi} lb/psi is not a finite number above zero`)
  if (!(prior.varEmpty * prior.varLimit > prior.cov * prior.cov && prior.varEmpty < Number.POSITIVE_INFINITY))
    throw new RangeError('the prior of the line has no positive finite covariance')
  let before = Number.NEGATIVE_INFINITY
  for (const { at, psi, weightLb, varOtherLb2 } of points) {
    if (!Number.isFinite(at + psi + weightLb) || !(varOtherLb2 >= 0))
      throw new RangeError(`the weighing of ${weightLb} lb at ${psi} psi is not finite`)
    if (at < before) throw new RangeError('the weighings of a life are not in the order of time')
    before = at
  }
}

/** The scales' errors do not average out over tickets of one scale, only over scales: (share of tickets) u of each. */
function scalesOf(points: LifeSeries['points']): { readonly scaleId: number; readonly u: number }[] {
  const scales = new Map<number, { count: number; u: number }>()
  for (const { scaleId, uScaleGain } of points) {
    const known = scales.get(scaleId)
    if (known === undefined) scales.set(scaleId, { count: 1, u: uScaleGain })
    else known.count += 1
  }
  return Array.from(scales, ([scaleId, { count, u }]) => ({ scaleId, u: (count / points.length) * u }))
}

/**
 * The columns of a life under given noise. Errors: RangeError on figures that are not finite, a span of the reference
 * pressures below 1 psi, points out of order; a caller's mistakes.
 */
export function columnsOf(series: LifeSeries, noise: LineNoise, priors: ChangePriors): Columns {
  requireSound(series)
  const { points, emptyPsi, limitPsi } = series
  const size = points.length
  const all = new Float64Array(4 * size)
  const part = (place: number) => all.subarray(place * size, (place + 1) * size)
  const columns = { months: part(0), share: part(1), weight: part(2), varOther: part(3) }
  const from = points[0]?.at ?? 0
  const span = limitPsi - emptyPsi
  for (let i = 0; i < size; i += 1) {
    const { at, psi, weightLb, varOtherLb2, scaleGain, uScaleGain } = points[i] as LifeSeries['points'][number]
    columns.months[i] = (at - from) / monthMs
    columns.share[i] = (psi - emptyPsi) / span
    columns.weight[i] = weightLb * (1 - scaleGain)
    columns.varOther[i] = varOtherLb2 + (weightLb * uScaleGain) ** 2 + smallestSd * smallestSd
  }
  const kept = new Map<number, readonly SlipColumn[]>()
  const scales = scalesOf(points)
  const still = {
    ...columns,
    size,
    from,
    prior: series.prior,
    scales,
    varScales: scales.reduce((sum, { u }) => sum + u * u, 0),
    series,
    priors,
    slips: (place: number) => {
      let known = kept.get(place)
      if (known === undefined) {
        const gain = points[place]?.scaleGain ?? 0
        known = (series.slipsOf?.(place) ?? []).map((option) => ({
          option,
          weight: option.weightLb * (1 - gain),
          share: (option.psi - emptyPsi) / span,
          logPrior: Math.log(option.prior),
          elsewhere: option.psi !== points[place]?.psi,
        }))
        kept.set(place, known)
      }
      return known
    },
  }
  return underNoise(still, noise)
}

/** What of a life is the same under whatever noise. */
type StillColumns = Omit<
  Columns,
  | 'varOrdinary'
  | 'varTail'
  | 'varWild'
  | 'shareOrdinary'
  | 'shareTail'
  | 'shareWild'
  | 'wanderVar'
  | 'wanderCov'
  | 'noise'
>

/** The columns of a life under another noise: learning one asks for hundreds. */
export function underNoise(life: StillColumns, noise: LineNoise): Columns {
  const { size, series, priors, varOther } = life
  const b = series.slopeLbPerPsi
  const all = new Float64Array(3 * size)
  const part = (place: number) => all.subarray(place * size, (place + 1) * size)
  const variances = { varOrdinary: part(0), varTail: part(1), varWild: part(2) }
  const leveling = (b * noise.levelingPsi) ** 2
  const tail = leveling * noise.tailScale ** 2
  const wild = (b * priors.wildPsi) ** 2
  for (let i = 0; i < size; i += 1) {
    const other = varOther[i] as number
    variances.varOrdinary[i] = other + leveling
    variances.varTail[i] = other + tail
    variances.varWild[i] = other + leveling + wild
  }
  return {
    ...life,
    ...variances,
    noise,
    shareOrdinary: 1 - noise.tailShare - priors.wildShare,
    shareTail: noise.tailShare,
    shareWild: priors.wildShare,
    ...wanderOf(series, noise),
  }
}

/** What wandering adds in a month under a noise. */
export function wanderOf(
  { slopeLbPerPsi }: LifeSeries,
  { wanderPsi, endsCorrelation }: LineNoise,
): Pick<Columns, 'wanderVar' | 'wanderCov'> {
  const wanderVar = (slopeLbPerPsi * wanderPsi) ** 2
  return { wanderVar, wanderCov: endsCorrelation * wanderVar }
}
