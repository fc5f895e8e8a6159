import { divisionOf, toleranceOf } from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { ScaleFacts, TicketFacts } from '#core/evidence/history.ts'
import { scaleVerdict } from '#core/evidence/scales/scale-standing.ts'
import { ticketSum } from '#core/evidence/slips.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { type Finding, findingSeverities } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { saying } from '#core/words/sentences/findings.ts'

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
  return [
    {
      ...saying('ticket-sum-mismatch', 'ticket', {
        number: ticket.number,
        at: ticket.weighedAt,
        sumLb: sum,
        grossLb: ticket.grossLb,
      }),
      severity: findingSeverities['ticket-sum-mismatch'],
      unitId: ticket.unitIds[0] ?? null,
      groupId: null,
      circuitId: null,
      scaleId: ticket.scaleId,
      ticketId: ticket.ticketId,
      since: ticket.weighedAt,
      evidence: [ticket.grossLb, ...ticket.weightsLb, ...ticket.together.map(({ weightLb }) => weightLb)].join('/'),
      numbers: {
        sum_lb: sum,
        gross_lb: ticket.grossLb,
        difference_lb: difference,
        allowed_lb: allowed,
        weights: summed.weights,
      },
    },
  ]
}

const loadLb = 34_000

/** Scales that are surely beyond their tolerance, and most likely beyond the House Rules' multiple of it. */
export function scaleFindings(
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
  estimates: FleetEstimates,
): Finding[] {
  const findings: Finding[] = []
  for (const effect of estimates.scales.values()) {
    const { scaleId, gain, u, weighings, groups, since } = effect
    const scale = scales.get(scaleId)
    const tolerancePercent = toleranceOf(scale, rules)
    if (since === null || scaleVerdict(effect, tolerancePercent, rules) !== 'biased') continue
    const biasPercent = 100 * gain
    findings.push({
      ...saying('scale-biased', 'scale', {
        scale: scale?.name ?? '',
        biasPercent,
        tandemLb: gain * loadLb,
        weighings,
        groups,
        from: since,
      }),
      severity: findingSeverities['scale-biased'],
      unitId: null,
      groupId: null,
      circuitId: null,
      scaleId,
      ticketId: null,
      since,
      evidence: [
        doublings(weighings, 1),
        gain > 0 ? 'much' : 'little',
        doublings(biasPercent, rules.scaleBiasTolerances * tolerancePercent),
      ].join('/'),
      numbers: {
        bias_percent: biasPercent,
        u_percent: 100 * u,
        tolerance_percent: tolerancePercent,
        weighings,
        groups,
      },
    })
  }
  return findings
}
