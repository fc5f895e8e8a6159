import type { Finding, Trust } from '#core/findings/finding.ts'
import type { GroupHistory, ScaleFacts, TicketFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { CalibratedLine } from '#core/line/calibrate.ts'

/** What every judgement needs beside the group's own history. */
export interface AssessmentContext {
  readonly rules: HouseRules
  readonly asOf: number
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly tickets: ReadonlyMap<number, TicketFacts>
}

/** Where one sensed group stands on a day. */
export interface GroupAssessment {
  readonly history: GroupHistory
  readonly trust: Trust
  /** The line in use; null when there is no valid one. */
  readonly current: CalibratedLine | null
  readonly limitLb: number
  readonly ageDays: number | null
  /** The day by which it must be calibrated anew, YYYY-MM-DD; null when it has no line to run out. */
  readonly dueOn: string | null
  /** Standard uncertainty of the line's weight at the limit on the day, lb. */
  readonly uLimitLb: number | null
  readonly findings: readonly Finding[]
}
