import type { Finding } from '#core/findings/finding.ts'
import { dayOf } from '#core/fleet/instant.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { CellOutlook } from '#core/battery/cell-outlook.ts'

/** A finding of this folder, of the same shape as every other. */
export interface BatteryFinding extends Omit<Finding, 'code'> {
  readonly code: 'battery-due' | 'battery-overdue'
}

/** Where the sensor sits, for the finding and its sentence. */
export interface SensorSeat {
  readonly unitId: number
  readonly groupId: number
  readonly circuitId: number
}

const percent = (share: number) => (share < 0.1 ? (share * 100).toFixed(1) : (share * 100).toFixed(0))
const days = (count: number) => Math.round(count)

/**
 * What a cell's outlook gives to report: battery-overdue when its predicted life has passed, else battery-due when the
 * risk before the next visit is above the House Rules or the predicted life ends before it, else nothing. One finding a
 * cell: overdue includes due. `since`: the end of the predicted life when overdue; unknown (null) when due, since the
 * risk depends on the day of the visit.
 */
export function batteryFinding(outlook: CellOutlook, seat: SensorSeat, rules: HouseRules): BatteryFinding | null {
  if (outlook.state === 'fine') return null
  const {
    serial,
    cell,
    ageDays,
    predictedEndAt,
    swapByAt,
    nextVisitAt,
    visitAssumed,
    riskBeforeVisit,
    installedAt,
    installAssumed,
  } = outlook
  const overdue = outlook.state === 'overdue'
  const what = `The ${cell === null ? 'cell' : `${cell} cell`} of sensor ${serial}`
  const age = `${days(ageDays)} days old${installAssumed ? ' (no change recorded; counted from the mounting)' : ''}`
  const visit = `${visitAssumed ? 'a visit on' : 'the visit planned on'} ${dayOf(nextVisitAt)}`
  const odds = `its risk of dying before ${visit} is ${percent(riskBeforeVisit)} %`
  const limit = rules.batteryRiskPercent
  const due =
    riskBeforeVisit * 100 > limit
      ? `${odds}, above the House Rules’ ${limit} %`
      : `its predicted life ends on ${dayOf(predictedEndAt)}, before ${visit}`
  return {
    code: overdue ? 'battery-overdue' : 'battery-due',
    severity: overdue ? 'warn' : 'note',
    evidence: String(installedAt),
    ...seat,
    scaleId: null,
    ticketId: null,
    since: overdue ? predictedEndAt : null,
    numbers: {
      serial,
      cell,
      installed_on: dayOf(installedAt),
      age_days: days(ageDays),
      predicted_life_days: days((predictedEndAt - installedAt) / 86_400_000),
      swap_by: dayOf(swapByAt),
      next_visit: dayOf(nextVisitAt),
      risk_percent: Number((riskBeforeVisit * 100).toFixed(1)),
      limit_percent: limit,
    },
    message: overdue
      ? `${what} is ${age} and has outlived its predicted life, which ended on ${dayOf(predictedEndAt)}; ${odds}.`
      : `${what} is ${age}; ${due}.`,
    nextStep: `Swap the cell ${overdue ? 'at the first chance' : `by ${dayOf(swapByAt)}`} and record the swap with its reason. Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.`,
  }
}
