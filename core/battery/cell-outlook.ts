import { addDays } from '#core/fleet/instant.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { CellInService } from '#core/battery/lives.ts'
import type { LifeOutlook } from '#core/battery/risk.ts'

const dayMs = 86_400_000

/**
 * due: the risk before the next visit is above the House Rules, or the predicted life ends before it. overdue: the
 * predicted life has passed.
 */
export type CellState = 'fine' | 'due' | 'overdue'

/** One cell in service on one day. Times ms UTC. */
export interface CellOutlook extends CellInService {
  readonly asOf: number
  readonly ageDays: number
  readonly state: CellState
  /**
   * Last moment before which this cell, alive today, dies with no more than the House Rules' risk; never later than
   * `latestAge`, never before today.
   */
  readonly swapByAt: number
  /** The same without regard to today: it may have passed. */
  readonly dueAt: number
  /** When half of such cells have died. */
  readonly predictedEndAt: number
  readonly nextVisitAt: number
  /** No visit is planned: the House Rules' interval from today stands in. */
  readonly visitAssumed: boolean
  /** Chance, 0 to 1, that this cell, alive today, is dead by the next visit. */
  readonly riskBeforeVisit: number
}

/** A cell watched from new is swapped with at most so many times the House Rules' share of its kind dead. */
const latestAge = 1.5

/**
 * What is to be done about a cell in service.
 *
 * The risk is always that of a cell known to be alive today: 1 - S(then)/S(today). For a fresh cell the swap-by date is
 * the age at which House Rules' share of all such cells has died (0.47 η at shape 3 and 10 %). A cell that has
 * grown older gets a later date than it had when fresh, since it has outlived the risk of the days behind it. Asked
 * anew each day, that date alone would recede with each day survived and come only when half have died; so it ends at
 * the age by which
 * 1.5 times that share of fresh cells has died (0.55 η), and an older cell is to be swapped today. So both
 * readings of the rule hold: 10 % for a cell alive today, and never more than 15 % for one followed from new.
 * A cell is `due` when waiting for the next visit would risk more than the House Rules, or outlast the predicted
 * life; `overdue` once the predicted life has passed. Overdue cells are due as well; the stronger word is given.
 *
 * nextVisitAt: the unit's next planned visit, later than asOf, or null.
 */
export function cellOutlook(
  cell: CellInService,
  outlook: LifeOutlook,
  rules: HouseRules,
  asOf: number,
  nextVisitAt: number | null,
): CellOutlook {
  const ageDays = (asOf - cell.installedAt) / dayMs
  const allowed = rules.batteryRiskPercent / 100
  const predictedEndAt = addDays(cell.installedAt, outlook.predictedLifeDays)
  const overdue = ageDays >= outlook.predictedLifeDays
  const visitAt = nextVisitAt ?? addDays(asOf, rules.visitIntervalDays)
  const riskBeforeVisit = outlook.risk(ageDays, (visitAt - cell.installedAt) / dayMs)
  const latest = outlook.freshAgeAtRisk(Math.min(latestAge * allowed, 0.5))
  const dueAt = addDays(
    cell.installedAt,
    ageDays < latest ? Math.min(outlook.ageAtRisk(ageDays, allowed), latest) : latest,
  )
  const due = riskBeforeVisit > allowed || predictedEndAt < visitAt
  return {
    ...cell,
    asOf,
    ageDays,
    predictedEndAt,
    dueAt,
    swapByAt: Math.max(asOf, dueAt),
    nextVisitAt: visitAt,
    visitAssumed: nextVisitAt === null,
    riskBeforeVisit,
    state: overdue ? 'overdue' : due ? 'due' : 'fine',
  }
}
