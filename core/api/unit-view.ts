import type { CalibrationView, DismissedView, GroupView } from '#core/api/contract.ts'
import type { GroupAssessment } from '#core/findings/assessment.ts'
import type { GroupHistory, Observation, ScaleFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { calibrateGroup } from '#core/line/calibrate.ts'
import { pressureAtWeight } from '#core/line/predict.ts'
import type { listDismissals } from '#core/store/dismissals.ts'
import type { listCalibrations, listPointNames } from '#core/store/unit-sheet.ts'

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
  if (!facts) return 'Not yet valid on this day.'
  const fitted = calibrateGroup(history, facts, (id) => scales.get(id), rules)
  return fitted.ok ? null : fitted.problem.message
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

/** What an assessment adds to a group on the sheet. */
export function viewStanding(
  assessment: GroupAssessment | undefined,
): Pick<GroupView, 'trust' | 'calibratedAt' | 'ageDays' | 'dueOn' | 'uLimitLb' | 'targetPsi'> {
  if (!assessment)
    return { trust: null, calibratedAt: null, ageDays: null, dueOn: null, uLimitLb: null, targetPsi: null }
  const { current, trust, ageDays, dueOn, uLimitLb, limitLb } = assessment
  return {
    trust,
    ageDays,
    dueOn,
    uLimitLb,
    calibratedAt: current ? toStoredInstant(current.calibration.calibratedAt) : null,
    targetPsi: current ? pressureAtWeight(current.line, limitLb) : null,
  }
}

/** Findings that were set aside, as the change log tells it. */
export function viewDismissals(rows: Awaited<ReturnType<typeof listDismissals>>): DismissedView[] {
  return rows.map(({ changed_at, changed_by, old_value, reason }) => ({
    at: changed_at,
    by: changed_by,
    reason: reason ?? '',
    message: (JSON.parse(old_value ?? '{}') as { message?: string }).message ?? '',
  }))
}
