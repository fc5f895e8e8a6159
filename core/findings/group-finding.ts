import { type Finding, type FindingCode, findingSeverities } from '#core/findings/finding.ts'
import type { GroupFacts } from '#core/fleet/history.ts'

type Says = Pick<Finding, 'since' | 'numbers' | 'message' | 'nextStep'> &
  Partial<Pick<Finding, 'circuitId' | 'scaleId' | 'ticketId' | 'severity' | 'evidence'>>

/** A finding about one axle group; severity follows from the code unless said. */
export function groupFinding(group: GroupFacts, code: FindingCode, says: Says): Finding {
  return {
    code,
    severity: findingSeverities[code],
    unitId: group.unitId,
    groupId: group.groupId,
    circuitId: null,
    scaleId: null,
    ticketId: null,
    evidence: '',
    ...says,
  }
}
