import { divisionOf, ticketUncertaintyLb, toleranceOf } from '#core/evidence/calibrate.ts'
import { type FleetEstimates, type ScaleEffect, covarianceOf, unlearntScale } from '#core/evidence/estimates.ts'
import type { ScaleFacts } from '#core/evidence/history.ts'
import { expanded, toleranceVerdict } from '#core/words/coverage.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

export const scaleVerdicts = [
  'within tolerance',
  'beyond tolerance',
  'biased',
  'too close to call',
  'not known',
] as const
export type ScaleVerdict = (typeof scaleVerdicts)[number]

/** Where a scale stands: its bias, what is said of it, and the scales it cannot be told apart from, by their ids. */
export interface ScaleStanding extends ScaleEffect {
  /** Its own, or the House Rules'. */
  readonly tolerancePercent: number
  readonly verdict: ScaleVerdict
  readonly tiedTo: readonly number[]
}

/** The two scales on which one loaded unit is best weighed, one after the other. */
export interface CrossCheck {
  readonly scaleIds: readonly [number, number]
  /** Standard uncertainty of their difference before and after, relative. */
  readonly uNow: number
  readonly uAfter: number
}

export interface ScaleStandings {
  readonly scales: readonly ScaleStanding[]
  /** null where no cross-check would tell much. */
  readonly crossCheck: CrossCheck | null
}

/** A cross-check is advised where it leaves no more than this share of the uncertainty of the difference. */
const worthwhile = 0.9
/** Only scales that are used a good deal are worth a cross-check. */
const mostCompared = 40

/**
 * A scale is biased when it is surely beyond its tolerance and most likely beyond the House Rules' multiple of it;
 * short of weighings it is not known, whatever its certification says.
 */
export function scaleVerdict(
  { gain, u, known }: Pick<ScaleEffect, 'gain' | 'u' | 'known'>,
  tolerancePercent: number,
  { scaleBiasTolerances }: Pick<HouseRules, 'scaleBiasTolerances'>,
): ScaleVerdict {
  if (!known) return 'not known'
  const tolerance = tolerancePercent / 100
  const verdict = toleranceVerdict(gain, u, tolerance)
  return verdict === 'beyond tolerance' && Math.abs(gain) > scaleBiasTolerances * tolerance ? 'biased' : verdict
}

/**
 * The cross-check that would take most from the uncertainty of all weighings: the sum of the scales' variances, each as
 * often as it weighs. A unit at the tandem limit, weighed on both, measures the difference with the uncertainty of two
 * tickets; by the usual update of a covariance it takes (C d)²/(dᵀ C d + u²) off, d the difference.
 */
function bestCrossCheck(
  standings: readonly ScaleStanding[],
  uTicket: (standing: ScaleStanding) => number,
): CrossCheck | null {
  let best: CrossCheck | null = null
  let most = 0
  for (const [i, one] of standings.entries()) {
    for (const other of standings.slice(i + 1)) {
      const towards = (each: ScaleStanding) => covarianceOf(each, one) - covarianceOf(each, other)
      const variance = towards(one) - towards(other)
      const measured = variance + uTicket(one) ** 2 + uTicket(other) ** 2
      const taken = standings.reduce((sum, each) => sum + (each.weighings * towards(each) ** 2) / measured, 0)
      const left = 1 - variance / measured
      if (taken <= most || Math.sqrt(left) > worthwhile) continue
      most = taken
      best = {
        scaleIds: [one.scaleId, other.scaleId],
        uNow: Math.sqrt(variance),
        uAfter: Math.sqrt(variance * left),
      }
    }
  }
  return best
}

/** Whether the difference of two scales that are weighed on is not known to within a tolerance. */
function areTied(one: ScaleStanding, other: ScaleStanding): boolean {
  const variance = one.u ** 2 + other.u ** 2 - 2 * covarianceOf(one, other)
  return 100 * expanded(Math.sqrt(Math.max(0, variance))) > Math.max(one.tolerancePercent, other.tolerancePercent)
}

/** Where every scale of a fleet stands, and which two to compare next. */
export function scaleStandings(
  scales: Iterable<ScaleFacts>,
  estimates: Pick<FleetEstimates, 'scales'>,
  rules: HouseRules,
): ScaleStandings {
  const facts = new Map(Array.from(scales, (scale) => [scale.scaleId, scale]))
  const standings = Array.from(facts.values(), (scale): ScaleStanding => {
    const tolerancePercent = toleranceOf(scale, rules)
    const effect = estimates.scales.get(scale.scaleId) ?? unlearntScale(scale.scaleId, tolerancePercent)
    return { ...effect, tolerancePercent, verdict: scaleVerdict(effect, tolerancePercent, rules), tiedTo: [] }
  })
  const used = standings
    .filter(({ weighings }) => weighings > 0)
    .toSorted((one, other) => other.weighings - one.weighings)
  const uTicket = ({ scaleId }: ScaleStanding) =>
    ticketUncertaintyLb(divisionOf(facts.get(scaleId), rules), rules.ticketRepeatabilityLb) / rules.tandemLimitLb
  return {
    scales: standings.map((one) => ({
      ...one,
      tiedTo:
        one.weighings > 0
          ? used.filter((other) => other.scaleId !== one.scaleId && areTied(one, other)).map(({ scaleId }) => scaleId)
          : [],
    })),
    crossCheck: bestCrossCheck(used.slice(0, mostCompared), uTicket),
  }
}
