/** Every finding code with its severity, worst kind of trouble first; the codes are fixed by the command line's format. */
export const findingSeverities = {
  'no-calibration': 'stop',
  'event-since-calibration': 'stop',
  'points-disagree': 'warn',
  'age-over-limit': 'warn',
  'ticket-sum-mismatch': 'warn',
  'short-span': 'warn',
  'age-near-limit': 'note',
  'two-point-line': 'note',
} as const satisfies Record<string, Severity>

export type Severity = 'stop' | 'warn' | 'note'
export type FindingCode = keyof typeof findingSeverities
export const findingCodes = Object.keys(findingSeverities) as FindingCode[]

/** Something the evidence says, with its numbers, in one plain sentence, and what to do about it. */
export interface Finding {
  readonly code: FindingCode
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
  readonly message: string
  readonly nextStep: string
}

/** Trust in an axle group's line, worst first. */
export const trustStates = ['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon', 'sound'] as const
export type Trust = (typeof trustStates)[number]
