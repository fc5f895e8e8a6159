import { type Finding, type FindingCode, type Trust, findingCodes } from '#core/findings/finding.ts'

/** What a judgement of the fleet comes to, for comparing two of them. */
export interface JudgementTally {
  /** By group. */
  readonly trusts: ReadonlyMap<number, Trust>
  readonly findings: ReadonlyMap<FindingCode, number>
}

/** How one judgement differs from another. */
export interface RuleEffect {
  readonly groups: number
  /** Groups that go from one trust to another, the most first. */
  readonly moves: { readonly from: Trust; readonly to: Trust; readonly groups: number }[]
  /** Findings whose number changes, in the order of their codes. */
  readonly findings: { readonly code: FindingCode; readonly before: number; readonly after: number }[]
}

export function countFindings(
  findings: Iterable<Pick<Finding, 'code'>>,
  counts = new Map<FindingCode, number>(),
): Map<FindingCode, number> {
  for (const { code } of findings) counts.set(code, (counts.get(code) ?? 0) + 1)
  return counts
}

export function compareJudgements(before: JudgementTally, after: JudgementTally): RuleEffect {
  const moves = new Map<string, { from: Trust; to: Trust; groups: number }>()
  for (const [groupId, to] of after.trusts) {
    const from = before.trusts.get(groupId)
    if (from === undefined || from === to) continue
    const move = moves.get(`${from} ${to}`) ?? { from, to, groups: 0 }
    move.groups += 1
    moves.set(`${from} ${to}`, move)
  }
  return {
    groups: after.trusts.size,
    moves: [...moves.values()].sort((a, b) => b.groups - a.groups),
    findings: findingCodes
      .map((code) => ({ code, before: before.findings.get(code) ?? 0, after: after.findings.get(code) ?? 0 }))
      .filter((row) => row.before !== row.after),
  }
}
