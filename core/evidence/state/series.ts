import type { TwoWeights } from '#core/line/track.ts'

/** A figure in another place that a mistake of the hand would explain. */
export interface SlipOption {
  readonly code: 'digits-transposed' | 'groups-swapped' | 'wrong-pressure-unit'
  /** What the ticket would say, lb, and what the group's gauge pressure would be, psi. */
  readonly weightLb: number
  readonly psi: number
  /** Probability that a ticket has just this slip, before any line is looked at. */
  readonly prior: number
  /** The group whose weight would stand here, of swapped groups. */
  readonly otherGroupId?: number
  /** The unit that a pressure was read in, and the place of the circuit; null for all of them. */
  readonly unit?: 'kPa' | 'bar'
  readonly place?: number | null
}

/** One weighing with a reading, calibration point or check alike. */
export interface WeighedPoint {
  /** ms UTC. */
  readonly at: number
  /** Gauge pressure of the group. */
  readonly psi: number
  /** Ticket weight as printed. */
  readonly weightLb: number
  /** Variance of the ticket and of the sensors' resolution, lb²; leveling and scale come on top. */
  readonly varOtherLb2: number
  readonly scaleId: number
  /** Estimated bias of the scale (0.002 reads 0.2 % heavy) and its standard uncertainty, relative. */
  readonly scaleGain: number
  readonly uScaleGain: number
}

/** One physical life of a group's line: from recorded work to the next. Points in the order of time. */
export interface LifeSeries {
  readonly points: readonly WeighedPoint[]
  /** The two pressures at which the state is kept, psi; the limit pressure above the empty one. */
  readonly emptyPsi: number
  readonly limitPsi: number
  /** Slope that turns psi into lb: the fitted line's, or the hardware's while there is none. */
  readonly slopeLbPerPsi: number
  /** What is known of the line before its first point; see `priorWeights`. */
  readonly prior: TwoWeights
  /** The slips that would explain a point; asked only of points that fit badly. */
  readonly slipsOf?: (place: number) => readonly SlipOption[]
}

/** How healthy lines behave: the fleet's figures, or the House Rules'. */
export interface LineNoise {
  /** Leveling repeatability of an ordinary settling, psi. */
  readonly levelingPsi: number
  /** Share of settlings that are wild, and how many times the ordinary spread they have. */
  readonly tailShare: number
  readonly tailScale: number
  /** Random walk of both ends, psi per root month, and how far they walk together, 0 to 1. */
  readonly wanderPsi: number
  readonly endsCorrelation: number
}

/** How often lines go wrong, and how far, before a line is looked at. */
export interface ChangePriors {
  /** Unrecorded changes a group and year. */
  readonly offsetsPerYear: number
  readonly slopesPerYear: number
  readonly driftsPerYear: number
  /** Standard deviations of their sizes: psi, relative, psi a month. */
  readonly offsetPsi: number
  readonly slopeShare: number
  readonly driftPsiPerMonth: number
  /** Share of weighings that belong to no line at all, and the standard deviation of their miss, psi. */
  readonly wildShare: number
  readonly wildPsi: number
}

export const changeKinds = ['offset', 'slope', 'drift'] as const
export type ChangeKind = (typeof changeKinds)[number]

/** What is known of a slope and an intercept before any ticket: of the hardware, or of the family of like groups. */
export interface LinePrior {
  readonly interceptLb: number
  readonly uInterceptLb: number
  readonly slopeLbPerPsi: number
  readonly uSlopeLbPerPsi: number
}

/**
 * A prior line as weights at two pressures, its intercept and slope taken as independent:
 *   var(W(p)) = u²(a) + p² u²(b), cov(W(p), W(q)) = u²(a) + p q u²(b).
 *
 * Units: psi, lb, lb/psi. Range: positive uncertainties. Source: JCGM 100:2008 (GUM) 5.1.2.
 */
export function priorWeights(prior: LinePrior, emptyPsi: number, limitPsi: number): TwoWeights {
  const { interceptLb, uInterceptLb, slopeLbPerPsi, uSlopeLbPerPsi } = prior
  const varA = uInterceptLb * uInterceptLb
  const varB = uSlopeLbPerPsi * uSlopeLbPerPsi
  return {
    atEmpty: interceptLb + slopeLbPerPsi * emptyPsi,
    atLimit: interceptLb + slopeLbPerPsi * limitPsi,
    varEmpty: varA + emptyPsi * emptyPsi * varB,
    varLimit: varA + limitPsi * limitPsi * varB,
    cov: varA + emptyPsi * limitPsi * varB,
  }
}

/** The life as it was known at a moment, ms: the weighings up to then. */
export function seriesUpTo(series: LifeSeries, asOf: number): LifeSeries {
  return { ...series, points: series.points.filter(({ at }) => at <= asOf) }
}
