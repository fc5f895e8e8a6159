import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import type { SlipFacts } from '#core/evidence/slips.ts'
import type { LimitForecast } from '#core/findings/due-findings.ts'
import type { Finding, Trust } from '#core/findings/finding.ts'
import type { LocalDay } from '#core/words/day.ts'

/** What every judgement needs beside the group's own history. */
export interface AssessmentContext extends SlipFacts {
  readonly asOf: number
  readonly estimates: FleetEstimates
  /** Marks of findings that a person has set aside, see `dismissalMark`. */
  readonly dismissed: ReadonlySet<string>
}

/** Where one sensed group stands on a day. */
export interface GroupAssessment {
  readonly history: GroupHistory
  readonly trust: Trust
  /** The line in use; null when there is no valid one. */
  readonly current: CalibratedLine | null
  readonly limitLb: number
  /** Calendar days since its calibration. */
  readonly ageDays: number | null
  /** The day by which it must be calibrated anew; null when it has no line to run out. */
  readonly dueOn: LocalDay | null
  /** Standard uncertainty of the line's weight at the limit on the day, lb. */
  readonly uLimitLb: number | null
  readonly forecast: LimitForecast | null
  /** Every line of the group with what tested it, oldest first, and how each was followed. */
  readonly lives: readonly LineLife[]
  readonly trails: readonly CheckTrail[]
  /** What nobody has set aside, and what somebody has. */
  readonly findings: readonly Finding[]
  readonly aside: readonly Finding[]
}
