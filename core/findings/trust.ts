import { type Finding, type FindingCode, type Trust, findingCodes, trustStates } from '#core/findings/finding.ts'

/**
 * The trust that a finding takes the group down to; a code that is not here speaks about the line without unsettling
 * it.
 */
const trustOf: Partial<Record<FindingCode, Trust>> = {
  'no-calibration': 'uncalibrated',
  'event-since-calibration': 'upset',
  'checks-drifting': 'doubtful',
  'check-missed': 'doubtful',
  'points-disagree': 'doubtful',
  'slope-implausible': 'doubtful',
  'line-unlike-family': 'doubtful',
  'altitude-uncorrected': 'doubtful',
  'sensor-silent': 'doubtful',
  'short-span': 'doubtful',
  'lift-state-mismatch': 'doubtful',
  'one-circuit-read': 'doubtful',
  'two-point-line': 'doubtful',
  'age-over-limit': 'overdue',
  'uncertainty-over-tolerance': 'overdue',
  'age-near-limit': 'due soon',
}

const ranks = new Map(trustStates.map((trust, rank) => [trust, rank]))
/** 0 for the worst. */
export const trustRank = (trust: Trust): number => ranks.get(trust) ?? ranks.size

/** The worst of some states; `sound` of none. */
export const worstTrust = (trusts: readonly (Trust | undefined)[]): Trust =>
  trustStates.find((trust) => trusts.includes(trust)) ?? 'sound'

type Judged = Pick<Finding, 'code' | 'severity'>

/** What one finding takes trust down to; undefined: it leaves it. */
export function trustBy({ code, severity }: Judged): Trust | undefined {
  // A note is milder than its code: an answered miss leaves trust alone, a tolerance to be passed makes it due soon.
  if (severity === 'note')
    return code === 'age-near-limit' || code === 'uncertainty-over-tolerance' ? 'due soon' : undefined
  return trustOf[code]
}

const severityRank: Readonly<Record<Finding['severity'], number>> = { stop: 0, warn: 1, note: 2 }
const codeRank = new Map<string, number>(findingCodes.map((code, rank) => [code, rank]))

/**
 * Orders findings by what makes it worse: the state that each takes trust down to, the worst first, so that the finding
 * that makes the state of a unit stands before all others; below it how grave it is, then its code.
 */
export const worseFirst = (a: Judged, b: Judged): number =>
  trustRank(trustBy(a) ?? 'sound') - trustRank(trustBy(b) ?? 'sound') ||
  severityRank[a.severity] - severityRank[b.severity] ||
  (codeRank.get(a.code) ?? 0) - (codeRank.get(b.code) ?? 0)

/** What a unit stands by: its trust, the finding that makes it, and what is known of its lines. */
export interface Standing {
  readonly trust: Trust | null
  readonly worstFinding: FindingCode | null
  /** YYYY-MM-DD. */
  readonly dueOn: string | null
  readonly uLimitLb: number | null
}

const latest = '9999-12-31'

/**
 * What orders units by what needs someone first, each from low to high, the first that differs deciding: whether no
 * group is sensed, the worst state, the finding that makes it, what has been due longest, what is least sure.
 */
export const standingRanks = ({ trust, worstFinding, dueOn, uLimitLb }: Standing) => ({
  unsensed: trust === null ? 1 : 0,
  trust: trust === null ? ranks.size : trustRank(trust),
  finding: worstFinding === null ? codeRank.size : (codeRank.get(worstFinding) ?? 0),
  due: dueOn ?? latest,
  sureness: -(uLimitLb ?? 0),
})
