import type { Finding } from '#core/findings/finding.ts'

/**
 * Where a finding comes back that was set aside: a person sets it aside on what it rests on, its `evidence`, and it
 * stays away for as long as that text is the same. Each finding writes its own: the ids and counts of what it rests on,
 * and figures as coarse as what would be said anew. Its severity is part of it, so that a notice set aside does not
 * silence what it announced.
 */
export const evidenceText = (restsOn: string, severity: Finding['severity']): string => `${restsOn} ${severity}`

/**
 * How often a figure has doubled beyond a bound: 0 up to twice the bound, 1 up to four times, and on. With it in the
 * evidence a finding comes back when it has grown twice as bad, and not for the noise of a day. bound > 0.
 */
export const doublings = (value: number, bound: number): number =>
  Math.floor(Math.log2(Math.max(1, Math.abs(value) / bound)))

/** What a finding is about, as one text: the same trouble on the same thing has the same key on every day. */
export function findingKey({
  code,
  unitId,
  groupId,
  circuitId,
  scaleId,
  ticketId,
}: Pick<Finding, 'code' | 'unitId' | 'groupId' | 'circuitId' | 'scaleId' | 'ticketId'>): string {
  return [code, unitId, groupId, circuitId, scaleId, ticketId].map((part) => part ?? '').join('|')
}

/** A finding together with the evidence it was set aside on. */
export const dismissalMark = (key: string, evidence: string): string => `${key} ${evidence}`

/** The findings that nobody has set aside. Those of severity stop cannot be: work is needed, not an opinion. */
export function notDismissed(findings: readonly Finding[], dismissed: ReadonlySet<string>): Finding[] {
  if (dismissed.size === 0) return [...findings]
  return findings.filter(
    (finding) => finding.severity === 'stop' || !dismissed.has(dismissalMark(findingKey(finding), finding.evidence)),
  )
}
