import { type Finding, findingSeverities } from '#core/findings/finding.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { ticketSum } from '#core/findings/ticket-sum.ts'
import { day, ticketLb } from '#core/findings/words.ts'
import type { TicketFacts } from '#core/fleet/history.ts'
import { divisionOf } from '#core/line/budget.ts'

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
  const evidence = `${ticket.grossLb}/${ticket.weightsLb.join('/')}`
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
      evidence,
      numbers: {
        sum_lb: sum,
        gross_lb: ticket.grossLb,
        difference_lb: difference,
        allowed_lb: allowed,
        weights: ticket.weightsLb.length,
      },
      message: `The axle weights of ticket ${ticket.number} of ${day(ticket.weighedAt)} add up to ${ticketLb(sum)}, ${ticketLb(Math.abs(difference))} ${direction} than its gross of ${ticketLb(ticket.grossLb)}.`,
      nextStep: 'Compare the typed weights with the paper ticket and correct the one that was mistyped.',
    },
  ]
}
