import { divisionOf, toleranceOf } from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { ScaleFacts, TicketFacts } from '#core/evidence/history.ts'
import { ticketSum } from '#core/evidence/slips.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, findingSeverities } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import { count, day, finePercent, lb, ticketLb } from '#core/findings/words.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/**
 * A ticket whose group weights do not add up to its gross within the scale's divisions. With groups missing from the
 * ticket only a sum above gross can be told.
 */
export function ticketFindings(
  ticket: TicketFacts,
  { rules, scales }: Pick<AssessmentContext, 'rules' | 'scales'>,
): Finding[] {
  const summed = ticketSum(ticket, divisionOf(scales.get(ticket.scaleId), rules))
  if (!summed || ticket.grossLb === null) return []
  const { sumLb: sum, errorLb: difference, allowedLb: allowed } = summed
  if (!(difference > allowed || (ticket.complete && difference < -allowed))) return []
  const direction = difference > 0 ? 'more' : 'less'
  return [
    {
      code: 'ticket-sum-mismatch',
      severity: findingSeverities['ticket-sum-mismatch'],
      unitId: ticket.unitIds[0] ?? null,
      groupId: null,
      circuitId: null,
      scaleId: ticket.scaleId,
      ticketId: ticket.ticketId,
      since: ticket.weighedAt,
      evidence: `${ticket.grossLb}/${ticket.weightsLb.join('/')}`,
      numbers: {
        sum_lb: sum,
        gross_lb: ticket.grossLb,
        difference_lb: difference,
        allowed_lb: allowed,
        weights: ticket.weightsLb.length,
      },
      message: `The axle weights of ticket ${ticket.number} of ${day(ticket.weighedAt, rules)} add up to ${ticketLb(sum)}, ${ticketLb(Math.abs(difference))} ${direction} than its gross of ${ticketLb(ticket.grossLb)}.`,
      nextStep: 'Compare the typed weights with the paper ticket and correct the one that was mistyped.',
    },
  ]
}

const certainZ = 3
const loadLb = 34_000

/** Scales whose bias against the fleet is beyond a multiple of their tolerance, and beyond doubt. */
export function scaleFindings(
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
  estimates: FleetEstimates,
): Finding[] {
  const findings: Finding[] = []
  for (const { scaleId, gain, u, weighings, groups, since } of estimates.scales.values()) {
    const scale = scales.get(scaleId)
    const tolerance = toleranceOf(scale, rules) / 100
    if (Math.abs(gain) <= rules.scaleBiasTolerances * tolerance + certainZ * u) continue
    findings.push({
      code: 'scale-biased',
      severity: findingSeverities['scale-biased'],
      unitId: null,
      groupId: null,
      circuitId: null,
      scaleId,
      ticketId: null,
      since,
      evidence: `${doublings(weighings, 1)}/${gain > 0 ? 'much' : 'little'}/${doublings(gain, rules.scaleBiasTolerances * tolerance)}`,
      numbers: { bias_percent: 100 * gain, u_percent: 100 * u, tolerance_percent: 100 * tolerance, weighings, groups },
      message: `Scale ${scale?.name ?? ''} shows ${finePercent(100 * Math.abs(gain))} too ${gain > 0 ? 'much' : 'little'} (about ${lb(Math.abs(gain) * loadLb)} on a loaded tandem) against the fleet's other scales: ${count(weighings, 'weighing')} of ${count(groups, 'group')} since ${day(since, rules)} say so.`,
      nextStep: "Ask the scale's owner for its last certification, and calibrate on another scale until it is settled.",
    })
  }
  return findings
}
