import { type CalibratedLine, calibrateGroup, groupPressure } from '#core/evidence/calibrate.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type { CalibrationFacts, GroupHistory, Observation, ScaleFacts, TicketFacts } from '#core/evidence/history.ts'
import { lineLives } from '#core/evidence/line-life.ts'
import { assessGroup } from '#core/findings/assess-group.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { ticketFindings } from '#core/findings/ticket-findings.ts'
import { predictWeight } from '#core/line/predict.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { LineProblem } from '#core/words/sentences/line-problems.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/**
 * One row of a visit to the scale: a ticket with the pressures of the same moment. Times ms UTC, weights lb, pressures
 * as the sensors show them, psi.
 */
export interface WeighInRow {
  readonly ticket: string
  readonly weighedAt: number
  readonly scaleId: number
  readonly grossLb: number | null
  readonly elevationFt: number | null
  readonly lift: LiftState | null
  /** By group. */
  readonly weightsLb: ReadonlyMap<number, number>
  /** By group, in the order of its circuits. */
  readonly psi: ReadonlyMap<number, readonly (number | null)[]>
}

/**
 * What judging a visit needs of the record: the histories of the units that stand on the scale, and what the fleet has
 * taught.
 */
export interface WeighInFacts {
  readonly histories: readonly GroupHistory[]
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly rules: HouseRules
  readonly estimates: FleetEstimates
  /** How many groups a ticket of all these units must carry to be complete. */
  readonly groups: number
}

/** How far the line in use was off when the unit came in, at one row: ticket less line, lb. */
export interface AsFoundError {
  readonly row: number
  readonly missLb: number
  readonly uLb: number
}

/** What a visit makes of one sensed group. */
export interface GroupOutcome {
  readonly history: GroupHistory
  /** As it stands without the visit. */
  readonly before: GroupAssessment
  /** As it will stand once the visit is saved. */
  readonly after: GroupAssessment
  /** The line of the visit's own points; null where the group is not calibrated. */
  readonly line: CalibratedLine | null
  /** Why its points make no line, for a group that is to be calibrated. */
  readonly problem: LineProblem | null
  readonly asFound: readonly AsFoundError[]
}

export interface WeighInOutcome {
  readonly groups: readonly GroupOutcome[]
  /** Findings about each row's ticket, in the order of the rows. */
  readonly tickets: readonly (readonly Finding[])[]
}

/** Ids below zero stand for records that are not stored yet. */
const placeholder = (row: number): number => -1 - row

function observationsOf(
  { groupId }: GroupHistory,
  rows: readonly WeighInRow[],
): (Observation & { readonly row: number })[] {
  return rows.flatMap((row, i) => {
    const psi = row.psi.get(groupId) ?? []
    if (psi.every((each) => each === null)) return []
    const weightLb = row.weightsLb.get(groupId) ?? null
    return [
      {
        row: i,
        readingId: placeholder(i),
        takenAt: row.weighedAt,
        elevationFt: row.elevationFt,
        lift: row.lift,
        psi,
        weightLb,
        ticketId: weightLb === null ? null : placeholder(i),
        scaleId: weightLb === null ? null : row.scaleId,
      },
    ]
  })
}

/** The calibration that the visit would make of a group; undefined without two points. */
function calibrationOf(observations: readonly Observation[]): CalibrationFacts | undefined {
  const points = observations.filter(({ weightLb }) => weightLb !== null)
  if (points.length < 2) return undefined
  return {
    calibrationId: placeholder(0),
    calibratedAt: Math.max(...points.map(({ takenAt }) => takenAt)),
    calibratedBy: null,
    points,
  }
}

const byTime = (a: Observation, b: Observation) => a.takenAt - b.takenAt || a.readingId - b.readingId

function asFoundOf(
  { current }: GroupAssessment,
  history: GroupHistory,
  observations: ReturnType<typeof observationsOf>,
  rules: HouseRules,
): AsFoundError[] {
  if (!current) return []
  return observations.flatMap((observation) => {
    const pressure = groupPressure(history, observation, rules)
    if (observation.weightLb === null || pressure === undefined) return []
    const read = predictWeight(current.line, pressure.psi, pressure.uPsi)
    return [{ row: observation.row, missLb: observation.weightLb - read.value, uLb: read.u }]
  })
}

/**
 * Judges a visit to the scale before it is saved, by the code that judges the record: each group's line from its own
 * points, what speaks against it, how it will stand, and how far the line before was off. calibrate: the groups whose
 * rows become a calibration; the rows of the others are check weighings. asOf: ms UTC, not before the rows.
 */
export function judgeWeighIn(
  { histories, scales, rules, estimates, groups }: WeighInFacts,
  rows: readonly WeighInRow[],
  calibrate: ReadonlySet<number>,
  asOf: number,
): WeighInOutcome {
  const unitIds = [...new Set(histories.map(({ unitId }) => unitId))]
  const tickets = rows.map(
    (row, i): TicketFacts => ({
      ticketId: placeholder(i),
      number: row.ticket,
      scaleId: row.scaleId,
      weighedAt: row.weighedAt,
      grossLb: row.grossLb,
      unitIds,
      groupIds: [...row.weightsLb.keys()],
      weightsLb: [...row.weightsLb.values()],
      complete: row.weightsLb.size === groups,
    }),
  )
  const book = new Map(tickets.map((ticket) => [ticket.ticketId, ticket]))
  const own = new Map(histories.map((history) => [history.groupId, observationsOf(history, rows)]))
  const judge = (history: GroupHistory, livesOf: AssessmentContext['livesOf']): GroupAssessment =>
    assessGroup(history, lineLives(history, { rules, scales, estimates }), {
      rules,
      asOf,
      estimates,
      dismissed: new Set(),
      scales,
      tickets: book,
      livesOf,
    })
  const judged = histories.map((history): GroupOutcome => {
    const observations = own.get(history.groupId) ?? []
    const calibration = calibrate.has(history.groupId) ? calibrationOf(observations) : undefined
    const fitted =
      calibration && calibrateGroup(history, calibration, (id) => scales.get(id), rules, estimates.leveling.value)
    const after: GroupHistory = {
      ...history,
      observations: [...history.observations, ...observations].sort(byTime),
      calibrations: fitted?.ok
        ? [...history.calibrations, calibration as CalibrationFacts].sort((a, b) => a.calibratedAt - b.calibratedAt)
        : history.calibrations,
    }
    const livesOf: AssessmentContext['livesOf'] = (groupId) => {
      const other = histories.find((each) => each.groupId === groupId)
      return other && lineLives(other, { rules, scales, estimates })
    }
    const before = judge(history, livesOf)
    return {
      history,
      before,
      after: judge(after, livesOf),
      line: fitted?.ok ? fitted.value : null,
      problem: fitted === undefined || fitted.ok ? null : fitted.problem,
      asFound: asFoundOf(before, history, observations, rules),
    }
  })
  return { groups: judged, tickets: tickets.map((ticket) => ticketFindings(ticket, { rules, scales })) }
}
