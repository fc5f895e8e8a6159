import { assessGroup } from '#core/findings/assess-group.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { ticketFindings } from '#core/findings/ticket-findings.ts'
import type { FleetRecord } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'

export interface FleetAssessment {
  readonly groups: readonly GroupAssessment[]
  /** Findings about tickets and scales, not about one group. */
  readonly others: readonly Finding[]
}

/** Judges every sensed group of a record on a day, and the tickets with them. */
export function assessFleet(record: FleetRecord, rules: HouseRules, asOf: number): FleetAssessment {
  const context: AssessmentContext = { rules, asOf, scales: record.scales, tickets: record.tickets }
  const others: Finding[] = []
  for (const ticket of record.tickets.values()) others.push(...ticketFindings(ticket, context))
  return { groups: record.groups.map((history) => assessGroup(history, context)), others }
}
