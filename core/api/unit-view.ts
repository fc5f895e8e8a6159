import { messageSetAside } from '#core/api/log-view.ts'
import type { DismissedView } from '#core/contracts/base.ts'
import type { CalibrationView, GroupView, SumView, TrackView } from '#core/contracts/unit.ts'
import { calibrateGroup } from '#core/evidence/calibrate.ts'
import { type CheckTrail, bestWeight, offBest } from '#core/evidence/follow-checks.ts'
import type { GroupHistory, Observation, ScaleFacts } from '#core/evidence/history.ts'
import { predecessorOf } from '#core/evidence/line-in-use.ts'
import { limitUncertainty } from '#core/evidence/limit-uncertainty.ts'
import { uMissOf } from '#core/evidence/sum-tests.ts'
import type { GroupAssessment, LineStanding } from '#core/findings/assessment.ts'
import { isWild, likelyKind } from '#core/findings/check-findings.ts'
import { compareLives } from '#core/findings/line-findings.ts'
import { averageRunLength } from '#core/line/cusum.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import type { listDismissals } from '#core/store/dismissals.ts'
import type { listCalibrations, listPointNames } from '#core/store/unit-sheet.ts'
import { type LoadTo, loadTo } from '#core/weight/target-pressure.ts'
import type { PreparedGroup } from '#core/weight/weigh.ts'
import { expanded } from '#core/words/coverage.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { laterBy, toStoredInstant } from '#core/words/instant.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { sayWeighNext } from '#core/words/sentences/weigh-next.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

type CalibrationRow = Awaited<ReturnType<typeof listCalibrations>>[number]
type PointName = Awaited<ReturnType<typeof listPointNames>>[number]

const empty = { line: null, chi2: null, chi2Limit95: null, dof: null, widenedBy: null, points: [] }

/** Why a calibration has no line on the day; null for a voided one, which says so itself. */
function whyNoLine(
  row: CalibrationRow,
  history: GroupHistory,
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
): string | null {
  if (row.voided_at !== null) return null
  const facts = history.calibrations.find(({ calibrationId }) => calibrationId === row.id)
  if (!facts) return phrase('Not yet valid on this day.')
  const fitted = calibrateGroup(history, facts, (id) => scales.get(id), rules)
  return fitted.ok ? null : sayLineProblem(fitted.problem, sayOfRules(rules))
}

/** One calibration as the Unit sheet shows it: the very line that was judged. */
export function viewCalibration(
  row: CalibrationRow,
  { history, lives, current }: GroupAssessment,
  names: ReadonlyMap<string, PointName>,
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
): CalibrationView {
  const head = {
    id: row.id,
    calibratedAt: row.calibrated_at,
    calibratedBy: row.calibrated_by,
    voidedAt: row.voided_at,
    voidReason: row.void_reason,
    current: row.id === current?.calibration.calibrationId,
  }
  const life = lives.find((each) => each.line.calibration.calibrationId === row.id)
  if (!life) return { ...head, ...empty, problem: whyNoLine(row, history, scales, rules) }
  const { line, fit, widenedBy, points } = life.line
  return {
    ...head,
    problem: null,
    widenedBy,
    chi2: fit.chi2,
    chi2Limit95: fit.chi2Limit95,
    dof: fit.dof,
    line: { a: line.a, b: line.b, uA: line.uA, uB: line.uB, covAB: line.covAB },
    points: points.map(({ x, y, ux, uy, observation }) => {
      const name = names.get(pointKey(observation))
      return {
        ticket: name?.ticket ?? '',
        ticketId: observation.ticketId,
        scale: name?.scale ?? '',
        reading: name?.reading ?? '',
        weighedAt: name?.weighed_at ?? toStoredInstant(observation.takenAt),
        psi: x,
        uPsi: ux,
        weightLb: y,
        uLb: uy,
      }
    }),
  }
}

export const pointKey = ({ ticketId, readingId }: Pick<Observation, 'ticketId' | 'readingId'>): string =>
  `${ticketId}|${readingId}`

const viewLoadTo = (found: LoadTo, say: Say): NonNullable<GroupView['loadTo']> =>
  'psi' in found ? { psi: found.psi } : { why: sayNoLoad(found.why, say) }

/** What a line lies off the best weight at its limit, where it surely does. */
function viewLimitOff(standing: LineStanding | undefined, asOf: number): GroupView['limitOff'] {
  if (standing === undefined) return null
  const { offLb, u } = offBest(standing.trail, standing.trail.life.limitPsi, asOf)
  return Math.abs(offLb) > expanded(u) ? { offLb, uLb: u } : null
}

/** What an assessment adds to a group on the sheet, with the group made ready to weigh. */
export function viewStanding(
  assessment: GroupAssessment | undefined,
  group: PreparedGroup | undefined,
  { rules, asOf, say }: { readonly rules: HouseRules; readonly asOf: number; readonly say: Say },
): Pick<
  GroupView,
  'trust' | 'calibratedAt' | 'ageDays' | 'dueOn' | 'uLimitLb' | 'limitOff' | 'limitPsi' | 'loadTo' | 'standings'
> {
  if (!assessment || !group)
    return {
      trust: null,
      calibratedAt: null,
      ageDays: null,
      dueOn: null,
      uLimitLb: null,
      limitOff: null,
      limitPsi: null,
      loadTo: null,
      standings: [],
    }
  const { current, trust, ageDays, dueOn, uLimitLb, limitLb, standings } = assessment
  const loadToIn = (lift: LiftState | null) =>
    viewLoadTo(loadTo(group, limitLb, rules.verdictConfidencePercent, asOf, lift), say)
  return {
    trust,
    ageDays,
    dueOn,
    uLimitLb,
    limitOff: uLimitLb === null ? null : viewLimitOff(standings.at(-1), asOf),
    calibratedAt: current ? toStoredInstant(current.calibration.calibratedAt) : null,
    limitPsi: current ? pressureAtWeight(current.line, limitLb) : null,
    loadTo: loadToIn(null),
    standings: standings.map(({ lift, line, trust: own, ageDays: age, dueOn: due, uLimitLb: u }) => ({
      calibrationId: line.calibration.calibrationId,
      lift,
      trust: own,
      calibratedAt: toStoredInstant(line.calibration.calibratedAt),
      ageDays: age,
      dueOn: due,
      uLimitLb: u,
      loadTo: loadToIn(lift === 'both' ? null : lift),
    })),
  }
}

/** What one weighing would bring a group; null where none is worth its trip. */
export function viewWeighNext(
  assessment: GroupAssessment | undefined,
  scales: ReadonlyMap<number, ScaleFacts>,
  say: Say,
): string | null {
  const offer = assessment?.weighNext
  const best = offer?.weighings.find(({ scaleId, isWorthTrip }) => isWorthTrip && scales.has(scaleId))
  const scale = best && scales.get(best.scaleId)
  return offer && scale ? sayWeighNext({ ...best, ...offer, scale: scale.name }, say) : null
}

/** Findings that were set aside, as the change log tells it. */
export function viewDismissals(rows: Awaited<ReturnType<typeof listDismissals>>, say: Say): DismissedView[] {
  return rows.map(({ changed_at, changed_by, old_value, reason }) => ({
    at: changed_at,
    by: changed_by,
    reason: reason ?? '',
    message: messageSetAside(old_value, say),
  }))
}

export interface TicketName {
  readonly number: string
  readonly scale: string
}

const forecastSteps = 12

function viewLife(
  trail: CheckTrail,
  fixedPsi: number,
  asOf: number,
  names: ReadonlyMap<number, TicketName>,
): TrackView['lives'][number] {
  const { life, steps, alarmFrom, change, physical } = trail
  const { calibratedAt, calibrationId } = life.line.calibration
  const end = Math.min(life.endedAt, life.brokenAt ?? Number.POSITIVE_INFINITY, asOf)
  const best = (at: number) => bestWeight(trail, fixedPsi, at)
  const state = (at: number) => ({ at: toStoredInstant(at), ...best(at) })
  return {
    calibrationId,
    startedAt: toStoredInstant(calibratedAt),
    endedAt: Number.isFinite(life.endedAt) ? toStoredInstant(life.endedAt) : null,
    brokenAt: life.brokenAt === null ? null : toStoredInstant(life.brokenAt),
    lineLb: predictWeight(life.line.fit, fixedPsi).value,
    states: [state(calibratedAt), ...steps.map(({ check }) => state(check.at)), state(end)],
    checks: steps.map((step, i) => {
      const { check, innovation, cusum, slip } = step
      const name = check.observation.ticketId === null ? undefined : names.get(check.observation.ticketId)
      return {
        at: toStoredInstant(check.at),
        ticket: name?.number ?? '',
        ticketId: check.observation.ticketId,
        scale: name?.scale ?? '',
        psi: check.psi,
        weightLb: check.observation.weightLb,
        missLb: innovation.missLb,
        uMissLb: innovation.uMissLb,
        z: innovation.z,
        offLineLb: step.offLineLb,
        missed: isWild(step) || (trail.standing === 'suspected' && i === alarmFrom),
        slip: slip?.code ?? null,
        atFixedLb: best(check.at).weightLb + check.weightLb - bestWeight(trail, check.psi, check.at).weightLb,
        cusumHigh: cusum.high,
        cusumLow: cusum.low,
      }
    }),
    alarmFrom: trail.standing === 'moved' ? alarmFrom : null,
    change:
      change === null || physical === undefined
        ? null
        : {
            kind: likelyKind(change),
            probability: change.probability,
            at: toStoredInstant(change.at),
            from: toStoredInstant(change.from),
            until: toStoredInstant(change.until),
          },
  }
}

/** The track of a group at its limit pressure today; null without a line. */
export function viewTrack(
  { trails, forecast, limitLb }: GroupAssessment,
  asOf: number,
  rules: HouseRules,
  names: ReadonlyMap<number, TicketName>,
): TrackView | null {
  const current = trails.at(-1)
  if (!current || !forecast) return null
  const fixedPsi = current.life.limitPsi
  const horizon = Math.min(
    Number.isFinite(forecast.daysLeft) ? forecast.daysLeft * 1.2 : rules.maximumAgeDays,
    rules.maximumAgeDays,
  )
  return {
    fixedPsi,
    toleranceLb: (rules.tolerancePercent / 100) * limitLb,
    cusumLimit: rules.cusumLimit,
    checksToFalseAlarm: averageRunLength(0, rules.cusumSlack, rules.cusumLimit),
    lives: trails.map((trail) => viewLife(trail, fixedPsi, asOf, names)),
    forecast: Array.from({ length: forecastSteps + 1 }, (_, i) => {
      const days = (horizon * i) / forecastSteps
      return {
        at: toStoredInstant(laterBy(asOf, days)),
        u: limitUncertainty(current, laterBy(asOf, days)),
      }
    }),
    allowedULb: forecast.allowedLb,
  }
}

/** What weights of a group and another on one platform make of its lines in use, newest first. */
export const viewSums = (
  { standings }: GroupAssessment,
  names: ReadonlyMap<number, TicketName>,
  groups: ReadonlyMap<number, string>,
): SumView[] =>
  standings
    .flatMap(({ sums }) => sums)
    .toSorted((a, b) => b.at - a.at)
    .map((test) => ({
      at: toStoredInstant(test.at),
      ticketId: test.ticketId,
      ticket: names.get(test.ticketId)?.number ?? '',
      scale: names.get(test.ticketId)?.scale ?? '',
      withGroup: groups.get(test.withGroupId) ?? '',
      sumLb: test.sumLb,
      expectedLb: test.expectedLb,
      leftLb: test.leftLb,
      missLb: test.missLb,
      uMissLb: uMissOf(test),
      answered: test.answered,
    }))

/** As-found error of every recalibration that no recorded work came before, newest first. */
export function viewAsFound({ lives }: GroupAssessment): GroupView['asFound'] {
  return lives
    .flatMap((later, i) => {
      const earlier = predecessorOf(lives, i)
      if (!earlier || earlier.brokenAt !== null) return []
      return [
        {
          calibrationId: later.line.calibration.calibrationId,
          beforeId: earlier.line.calibration.calibrationId,
          ...compareLives(earlier, later),
        },
      ]
    })
    .reverse()
}
