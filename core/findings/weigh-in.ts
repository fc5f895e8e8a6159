import { type CalibratedLine, calibrateGroup } from '#core/evidence/calibrate.ts'
import { elevationOfReading } from '#core/evidence/elevation.ts'
import type { FleetEstimates } from '#core/evidence/estimates.ts'
import type {
  CalibrationFacts,
  CommonWeight,
  GroupHistory,
  Observation,
  ScaleFacts,
  SharedWeight,
  TicketFacts,
} from '#core/evidence/history.ts'
import { lineAt } from '#core/evidence/line-in-use.ts'
import { lineLives } from '#core/evidence/line-life.ts'
import { readPressure } from '#core/evidence/read-pressure.ts'
import { type UnitOnScale, isCompleteTicket } from '#core/evidence/whole-ticket.ts'
import { assessGroup } from '#core/findings/assess-group.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { ticketFindings } from '#core/findings/ticket-findings.ts'
import { predictWeight } from '#core/line/predict.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Result, ok, refuse } from '#core/words/problem.ts'
import type { LineProblem } from '#core/words/sentences/line-problems.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

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
  /** Of two groups that stood on one platform; neither has a weight of its own then. */
  readonly together?: readonly CommonWeight[]
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
  /** How far the fleet's readings reach, ms UTC, as it was learnt; see `silenceOf`. */
  readonly heardUntil?: number | undefined
  /** The units that stand on the scale, with all their groups. */
  readonly units: readonly UnitOnScale[]
  /** Elevation of the yard of the unit at the head, ft. */
  readonly headYardFt: number | null
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

/** The weight that a group shares with another in a row. */
function sharedBy(groupId: number, { together = [], scaleId }: WeighInRow, i: number): SharedWeight | undefined {
  const common = together.find(({ groupIds }) => groupIds.includes(groupId))
  const withGroupId = common?.groupIds.find((each) => each !== groupId)
  return common === undefined || withGroupId === undefined
    ? undefined
    : { ticketId: placeholder(i), scaleId, withGroupId, weightLb: common.weightLb }
}

function observationsOf(
  { groupId }: GroupHistory,
  rows: readonly WeighInRow[],
  { scales, headYardFt }: WeighInFacts,
): (Observation & { readonly row: number })[] {
  return rows.flatMap((row, i) => {
    const psi = row.psi.get(groupId) ?? []
    if (psi.every((each) => each === null)) return []
    const weightLb = row.weightsLb.get(groupId) ?? null
    const together = weightLb === null ? sharedBy(groupId, row, i) : undefined
    return [
      {
        row: i,
        readingId: placeholder(i),
        takenAt: row.weighedAt,
        elevationFt: elevationOfReading({
          notedFt: row.elevationFt,
          scaleFt: scales.get(row.scaleId)?.elevationFt ?? null,
          headYardFt,
        }),
        temperatureF: null,
        lift: row.lift,
        psi,
        weightLb,
        ticketId: weightLb === null ? null : placeholder(i),
        scaleId: weightLb === null ? null : row.scaleId,
        ...(together && { together }),
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
  { standings }: GroupAssessment,
  history: GroupHistory,
  observations: ReturnType<typeof observationsOf>,
  rules: HouseRules,
): AsFoundError[] {
  const lines = standings.map(({ trail }) => trail.life.line)
  return observations.flatMap((observation) => {
    const found = lineAt(lines, observation)
    // Work since has broken the line in use: how far it is off is told all the same.
    const line = 'reason' in found ? (found.reason === 'upset' ? found.line : undefined) : found
    if (observation.weightLb === null || line === undefined) return []
    const pressure = readPressure(history, line, observation, rules.pressureResolutionPsi)
    if ('reason' in pressure) return []
    const uPsi = Math.sqrt(pressure.resolutionVarPsi2 + rules.levelingPsi * rules.levelingPsi)
    const read = predictWeight(line.line, pressure.psi, uPsi)
    return [{ row: observation.row, missLb: observation.weightLb - read.value, uLb: read.u }]
  })
}

/** A group with what comes in of it: observations, and the calibration that they would make. */
interface Arrival {
  readonly history: GroupHistory
  /** As the record will have it once the visit is saved. */
  readonly after: GroupHistory
  /** Its observations that are held against the line in use. */
  readonly compared: ReturnType<typeof observationsOf>
  readonly fitted: Result<CalibratedLine> | undefined
}

function arrivalOf(
  { scales, rules, estimates }: WeighInFacts,
  history: GroupHistory,
  arrives: readonly Observation[],
  compared: ReturnType<typeof observationsOf>,
  calibration: CalibrationFacts | undefined,
): Arrival {
  const fitted =
    calibration && calibrateGroup(history, calibration, (id) => scales.get(id), rules, estimates.leveling.value)
  const after = {
    ...history,
    observations: [...history.observations, ...arrives].sort(byTime),
    calibrations: fitted?.ok
      ? [...history.calibrations, fitted.value.calibration].sort((a, b) => a.calibratedAt - b.calibratedAt)
      : history.calibrations,
  }
  return { history, after, compared, fitted }
}

/** Judges one group as it stands, and as it will stand with all that comes in. */
function judgeGroup(
  { histories, scales, rules, estimates, heardUntil }: WeighInFacts,
  { history, after, compared, fitted }: Arrival,
  arrivals: readonly Arrival[],
  book: AssessmentContext['tickets'],
  asOf: number,
): GroupOutcome {
  const ofGroup = <T extends GroupHistory>(list: readonly T[], groupId: number) =>
    list.find((each) => each.groupId === groupId)
  const livesOf: AssessmentContext['livesOf'] = (groupId) => {
    const other = ofGroup(histories, groupId)
    return other && lineLives(other, { rules, scales, estimates })
  }
  const judge = (each: GroupHistory, all: readonly GroupHistory[]): GroupAssessment =>
    assessGroup(each, {
      rules,
      asOf,
      heardUntil: heardUntil ?? asOf,
      estimates,
      dismissed: new Set(),
      scales,
      tickets: book,
      livesOf,
      historyOf: (groupId) => ofGroup(all, groupId),
    })
  const before = judge(history, histories)
  return {
    history,
    before,
    after: judge(
      after,
      arrivals.map((each) => each.after),
    ),
    line: fitted?.ok ? fitted.value : null,
    problem: fitted === undefined || fitted.ok ? null : fitted.problem,
    asFound: asFoundOf(before, history, compared, rules),
  }
}

/**
 * Judges a visit to the scale before it is saved, by the code that judges the record: each group's line from its own
 * points, what speaks against it, how it will stand, and how far the line before was off. calibrate: the groups whose
 * rows become a calibration; the rows of the others are check weighings. asOf: ms UTC, not before the rows.
 */
export function judgeWeighIn(
  facts: WeighInFacts,
  rows: readonly WeighInRow[],
  calibrate: ReadonlySet<number>,
  asOf: number,
): WeighInOutcome {
  const { scales, rules, histories, units } = facts
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
      together: row.together ?? [],
      complete: isCompleteTicket(units, { alone: row.weightsLb.size, together: row.together?.length ?? 0 }),
    }),
  )
  const book = new Map(tickets.map((ticket) => [ticket.ticketId, ticket]))
  const arrivals = histories.map((history) => {
    const observations = observationsOf(history, rows, facts)
    const calibration = calibrate.has(history.groupId) ? calibrationOf(observations) : undefined
    return arrivalOf(facts, history, observations, observations, calibration)
  })
  const judged = arrivals.map((arrival) => judgeGroup(facts, arrival, arrivals, book, asOf))
  return { groups: judged, tickets: tickets.map((ticket) => ticketFindings(ticket, { rules, scales })) }
}

/** The observations on record that a calibration can be made of, newest first: those with a ticket's weight. */
export const recordedPoints = ({ observations }: GroupHistory): readonly Observation[] =>
  observations.filter(({ ticketId, weightLb }) => ticketId !== null && weightLb !== null).toReversed()

/**
 * The calibration that some readings on record make of a group, dated by the last of them. Refused: `no-such-point`,
 * `too-few-points`, and `exists` where a valid calibration of the group has that very time.
 */
export function recordedCalibration(history: GroupHistory, readingIds: readonly number[]): Result<CalibrationFacts> {
  const name = `${history.unit} ${history.group}`
  const chosen = new Set(readingIds)
  const points = recordedPoints(history)
    .filter(({ readingId }) => chosen.has(readingId))
    .toReversed()
  const calibratedAt = Math.max(...points.map(({ takenAt }) => takenAt))
  const problem = (code: string, value: string, accepted: string, message: string) =>
    refuse({ code, field: 'readings', value, accepted, message: `${name}: ${message}` })
  const known = new Set(points.map(({ readingId }) => readingId))
  const stray = readingIds.find((readingId) => !known.has(readingId))
  if (stray !== undefined)
    return problem(
      'no-such-point',
      String(stray),
      phrase('readings that go with a ticket that has a weight of the group'),
      phrase('a chosen reading is not on record with a ticket that has its weight.'),
    )
  if (points.length < 2)
    return problem(
      'too-few-points',
      String(points.length),
      phrase('two readings or more'),
      phrase('{points, plural, one {one ticket is} other {no ticket is}} chosen: a line needs two loads or more.', {
        points: points.length,
      }),
    )
  if (history.calibrations.some((each) => each.calibratedAt === calibratedAt))
    return problem(
      'exists',
      String(calibratedAt),
      phrase('a time without a valid calibration'),
      phrase('it already has a valid calibration of that very time; void it first, or choose other tickets.'),
    )
  return ok({ calibrationId: placeholder(0), calibratedAt, calibratedBy: null, points })
}

/**
 * Judges the calibration that readings on record would make of a group, as `judgeWeighIn` judges one of typed rows.
 * asOf: ms UTC. `asFound` counts the chosen readings in the order of time.
 */
export function judgeRecorded(
  facts: WeighInFacts,
  history: GroupHistory,
  readingIds: readonly number[],
  asOf: number,
): GroupOutcome {
  const made = recordedCalibration(history, readingIds)
  const arrivals = facts.histories.map((each) =>
    each.groupId === history.groupId && made.ok
      ? arrivalOf(
          facts,
          each,
          [],
          made.value.points.map((point, row) => ({ ...point, row })),
          made.value,
        )
      : arrivalOf(facts, each, [], [], undefined),
  )
  const own = arrivals.find((each) => each.history.groupId === history.groupId) as Arrival
  const outcome = judgeGroup(facts, own, arrivals, new Map(), asOf)
  return made.ok ? outcome : { ...outcome, problem: made.problem }
}
