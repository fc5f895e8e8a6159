import type { GroupFacts } from '#core/evidence/history.ts'
import { evidenceText } from '#core/findings/set-aside.ts'
import {
  type FindingCode,
  type FindingFacts,
  type FindingVariant,
  type Said,
  saying,
} from '#core/words/sentences/findings.ts'

export type { FindingCode } from '#core/words/sentences/findings.ts'

/** How much a finding matters, the worst first. */
export const severities = ['stop', 'warn', 'note'] as const
export type Severity = (typeof severities)[number]

/**
 * Every finding code with its usual severity, those that make a state worse before those that leave it; the codes are
 * fixed by the command line's format.
 * A finding may be milder than its code where the sentence says so.
 */
export const findingSeverities = {
  'no-calibration': 'stop',
  'event-since-calibration': 'stop',
  'checks-drifting': 'warn',
  'check-missed': 'warn',
  'points-disagree': 'warn',
  'slope-implausible': 'warn',
  'line-unlike-family': 'warn',
  'altitude-uncorrected': 'warn',
  'sensor-silent': 'warn',
  'short-span': 'warn',
  'age-over-limit': 'warn',
  'uncertainty-over-tolerance': 'warn',
  'wrong-pressure-unit': 'warn',
  'groups-swapped': 'warn',
  'digits-transposed': 'warn',
  'line-moved': 'warn',
  'side-imbalance': 'warn',
  'scale-biased': 'warn',
  'ticket-sum-mismatch': 'warn',
  'battery-overdue': 'warn',
  'battery-due': 'note',
  'age-near-limit': 'note',
  'lift-state-mismatch': 'note',
  'one-circuit-read': 'note',
  'two-point-line': 'note',
  'follows-weather': 'note',
} as const satisfies Record<FindingCode, Severity>

export const findingCodes = Object.keys(findingSeverities) as FindingCode[]

/**
 * Something the evidence says, with its numbers; `sayFinding` puts it into one plain sentence and what to do about it,
 * in the measures in use.
 */
export interface Finding extends Said {
  readonly severity: Severity
  readonly unitId: number | null
  readonly groupId: number | null
  readonly circuitId: number | null
  readonly scaleId: number | null
  readonly ticketId: number | null
  /** When the trouble began as far as the evidence tells, ms UTC. */
  readonly since: number | null
  /** Named figures, each name ending in its unit. */
  readonly numbers: Readonly<Record<string, number | string | null>>
  /** What it rests on: another text means new evidence, which brings back a finding that was set aside. */
  readonly evidence: string
}

/** Trust in an axle group's line, worst first. */
export const trustStates = ['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon', 'sound'] as const
export type Trust = (typeof trustStates)[number]

type Told = Pick<Finding, 'since' | 'numbers'> &
  Partial<Pick<Finding, 'circuitId' | 'scaleId' | 'ticketId' | 'severity'>> & {
    /** What it rests on: ids, counts and coarse figures, see `evidenceText`. */
    readonly restsOn: string
  }

/** A finding about one axle group; severity follows from the code unless said. */
export function groupFinding<C extends FindingCode, V extends FindingVariant<C>>(
  group: GroupFacts,
  code: C,
  variant: V,
  facts: FindingFacts<C, V>,
  { restsOn, ...told }: Told,
): Finding {
  const severity = told.severity ?? findingSeverities[code]
  return {
    ...saying(code, variant, facts),
    severity,
    unitId: group.unitId,
    groupId: group.groupId,
    circuitId: null,
    scaleId: null,
    ticketId: null,
    evidence: evidenceText(restsOn, severity),
    ...told,
  }
}
