import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import type { LiftOfPoints } from '#core/evidence/lift.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import type { SlipFacts } from '#core/evidence/named-slips.ts'
import type { SumFacts, SumTest } from '#core/evidence/sum-tests.ts'
import type { LimitForecast } from '#core/findings/due-findings.ts'
import type { Finding, Trust } from '#core/findings/finding.ts'
import type { WeighingOffer } from '#core/findings/weigh-next.ts'
import type { LocalDay } from '#core/words/day.ts'

/** What every judgement needs beside the group's own history. */
export interface AssessmentContext extends SlipFacts, SumFacts {
  readonly asOf: number
  /** How far the fleet's readings reach, ms UTC; see `silenceOf`. */
  readonly heardUntil: number
  readonly estimates: FleetEstimates
  /** Marks of findings that a person has set aside, see `dismissalMark`. */
  readonly dismissed: ReadonlySet<string>
}

/** Where one line in use stands on a day: each line is judged, due and trusted for itself. */
export interface LineStanding {
  /** The lift state it weighs in; null for any, 'both' where its points mix the states and it weighs in none. */
  readonly lift: LiftOfPoints
  readonly line: CalibratedLine
  readonly trail: CheckTrail
  /** What weights of this group and another on one platform make of it, oldest first. */
  readonly sums: readonly SumTest[]
  readonly trust: Trust
  readonly ageDays: number
  /** The day by which it must be calibrated again; see `dueOn`. */
  readonly dueOn: LocalDay
  /** How sure its weight at the limit is, and until when that is enough. */
  readonly forecast: LimitForecast
  /** Standard uncertainty of its weight at the limit on the day, lb; null once recorded work has broken it. */
  readonly uLimitLb: number | null
  /** What speaks of this line, set aside or not. */
  readonly findings: readonly Finding[]
}

/** Where one sensed group stands on a day. */
export interface GroupAssessment {
  readonly history: GroupHistory
  /** The worst of its lines in use, and of what speaks of the group. */
  readonly trust: Trust
  /** Its lines in use, in the order of their calibration: one for each lift state that has its own. */
  readonly standings: readonly LineStanding[]
  /** The newest of them; null when there is no valid one. */
  readonly current: CalibratedLine | null
  readonly limitLb: number
  /** Calendar days since its calibration. */
  readonly ageDays: number | null
  /** The day by which the first of its lines must be calibrated again; null when it has none to run out. */
  readonly dueOn: LocalDay | null
  /** Of the newest line; see `LineStanding`. */
  readonly uLimitLb: number | null
  readonly forecast: LimitForecast | null
  /** The one weighing that would teach most, and others; null where none would teach anything to speak of. */
  readonly weighNext: WeighingOffer | null
  /** Every line of the group with what tested it, oldest first, and how each was followed. */
  readonly lives: readonly LineLife[]
  readonly trails: readonly CheckTrail[]
  /** What nobody has set aside, and what somebody has. */
  readonly findings: readonly Finding[]
  readonly aside: readonly Finding[]
}
