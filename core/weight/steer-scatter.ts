import type { HouseRules } from '#core/fleet/house-rules.ts'
import { ticketUncertaintyLb } from '#core/line/budget.ts'
import type { ScaleLookup } from '#core/line/calibrate.ts'
import { fitLine } from '#core/line/fit.ts'
import { chiSquaredQuantile } from '#core/line/quantile.ts'
import { type SteerFacts, steerPoints } from '#core/weight/steer.ts'

/** How many tickets' worth the House Rules' scatter counts against what the fleet shows. */
const priorTickets = 4
const mostLb = 2000
const halvings = 20
/**
 * A tractor counts at most this quantile of its chi², so that one mistyped ticket does not make the whole fleet unsure.
 */
const capQuantile = 0.997

/**
 * By how much the fleet's steer weights scatter about their drive weights beyond what tickets are uncertain by, lb: the
 * scatter s at which the tickets' lines of all tractors fit as well as they should,
 *   Σ min(chi²(s), cap) + 4 v(rules)/v(s) = Σ dof + 4,   v(s) = ticket² + s²,
 * found by halving to 0.002 lb between 0 and 2,000; 0 where the tickets agree better than their own uncertainty.
 *
 * Only tractors with three and more tickets tell. Give the result to `steerModel` in place of the House Rules' scatter.
 * Source: the moment estimator of Paule and Mandel, J. Res. NBS 87 (1982) 377 (from memory), with a prior and a cap of
 * this project's own; tested by simulation.
 */
export function fleetSteerScatterLb(
  fleet: readonly Pick<SteerFacts, 'tickets'>[],
  scaleOf: ScaleLookup,
  rules: HouseRules,
): number {
  const telling = fleet.filter(({ tickets }) => tickets.length > 2)
  const ticketVar = ticketUncertaintyLb(rules.scaleDivisionLb, rules.ticketRepeatabilityLb) ** 2
  const ruleVar = ticketVar + rules.steerScatterLb ** 2
  const isTooSmall = (scatterLb: number): boolean => {
    const trial = { ...rules, steerScatterLb: scatterLb }
    let excess = priorTickets * (ruleVar / (ticketVar + scatterLb * scatterLb) - 1)
    for (const { tickets } of telling) {
      const fit = fitLine(steerPoints(tickets, scaleOf, trial))
      if (fit.ok) excess += Math.min(fit.value.chi2, chiSquaredQuantile(capQuantile, fit.value.dof)) - fit.value.dof
    }
    return excess > 0
  }
  let low = 0
  let high = mostLb
  if (!isTooSmall(low)) return 0
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2
    if (isTooSmall(middle)) low = middle
    else high = middle
  }
  return high
}
