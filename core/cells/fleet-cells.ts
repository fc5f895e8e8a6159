import {
  type LifeCondition,
  type LifeModel,
  type StratumLaw,
  fitLifeModel,
  houseRulesPrior,
  lifeModelOf,
} from '#core/cells/life-model.ts'
import { type CellHistory, type CellInService, type CellLife, type HistoryIssue, cellLives } from '#core/cells/lives.ts'
import { type CellOutlook, type LifeOutlook, cellOutlook, lifeOutlook } from '#core/cells/outlook.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { dayOf } from '#core/words/instant.ts'

/** Where the sensor sits, for the finding and its sentence. */
export interface SensorSeat {
  readonly unitId: number
  readonly groupId: number
  readonly circuitId: number
}

const days = (count: number) => Math.round(count)

/**
 * What a cell's outlook gives to report: battery-overdue when its predicted life has passed, else battery-due when the
 * risk before the next visit is above the House Rules or the predicted life ends before it, else nothing. One finding a
 * cell: overdue includes due. `since`: the end of the predicted life when overdue; unknown (null) when due, since the
 * risk depends on the day of the visit.
 */
export function batteryFinding(outlook: CellOutlook, seat: SensorSeat, rules: HouseRules): Finding | null {
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
  const limit = rules.batteryRiskPercent
  const cellFacts = {
    serial,
    cell,
    ageDays: days(ageDays),
    countedFrom: installAssumed ? ('mounting' as const) : ('change' as const),
    riskPercent: 100 * riskBeforeVisit,
    visitAt: nextVisitAt,
    visit: visitAssumed ? ('assumed' as const) : ('planned' as const),
  }
  const told = {
    circuitId: seat.circuitId,
    evidence: String(installedAt),
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
  }
  if (overdue) return groupFinding(seat, 'battery-overdue', 'cell', { ...cellFacts, endedAt: predictedEndAt }, told)
  return riskBeforeVisit * 100 > limit
    ? groupFinding(seat, 'battery-due', 'risk', { ...cellFacts, swapByAt, limitPercent: limit }, told)
    : groupFinding(seat, 'battery-due', 'life', { ...cellFacts, swapByAt, endsAt: predictedEndAt }, told)
}

/** Where a sensor sits, under the names people use. */
export interface NamedSeat extends SensorSeat {
  readonly unit: string
  readonly group: string
  readonly circuit: string
  /** null: the unit has no yard. */
  readonly yardId: number | null
  readonly retired: boolean
}

/** What is recorded about one sensor, and where it sits on the day; null: nowhere. */
export interface SensorRecord extends CellHistory {
  readonly sensorId: number
  readonly seat: NamedSeat | null
}

export interface MountedCell {
  readonly sensorId: number
  readonly seat: NamedSeat
  readonly outlook: CellOutlook
}

/** The cells of a fleet on one day: what their record says about lives, and where each mounted one stands. */
export interface FleetCells {
  readonly asOf: number
  readonly lives: readonly CellLife[]
  readonly issues: readonly HistoryIssue[]
  readonly model: LifeModel
  readonly mounted: readonly MountedCell[]
  /** The outlook under a law of the model; each is made once. */
  readonly outlookOf: (law: StratumLaw) => LifeOutlook
}

interface CellInSeat {
  readonly sensorId: number
  readonly seat: NamedSeat
  readonly cell: CellInService
}

/** What the records of sensors come to on a day (ms UTC), before any law of life is known. */
function gatherCells(sensors: readonly SensorRecord[], asOf: number) {
  const lives: CellLife[] = []
  const issues: HistoryIssue[] = []
  const inService: CellInSeat[] = []
  for (const sensor of sensors) {
    const own = cellLives(sensor, asOf)
    for (const life of own.lives) lives.push(life)
    for (const issue of own.issues) issues.push(issue)
    if (own.inService && sensor.seat)
      inService.push({ sensorId: sensor.sensorId, seat: sensor.seat, cell: own.inService })
  }
  return { lives, issues, inService }
}

/** Of a unit's next planned visit, later than the day that is asked about; null where none is planned. */
export type NextVisit = (unitId: number) => number | null

/**
 * Judges every cell on a day (ms UTC) against the fleet's own lives. alsoFor: conditions that nobody uses yet and that
 * need a law nevertheless.
 */
export function assessCells(
  sensors: readonly SensorRecord[],
  rules: HouseRules,
  asOf: number,
  nextVisitAt: NextVisit,
  alsoFor: (used: readonly LifeCondition[]) => readonly LifeCondition[] = () => [],
): FleetCells {
  const { lives, issues, inService } = gatherCells(sensors, asOf)
  const used = inService.map(({ cell }) => cell)
  const model = fitLifeModel(
    lives,
    [...used, ...alsoFor(used)],
    houseRulesPrior(rules),
    rules.lowCellDeathPercent / 100,
  )
  const outlooks = new Map<StratumLaw, LifeOutlook>()
  const outlookOf = (law: StratumLaw): LifeOutlook => {
    const known = outlooks.get(law) ?? lifeOutlook(law)
    outlooks.set(law, known)
    return known
  }
  const mounted = inService.map(
    ({ sensorId, seat, cell }): MountedCell => ({
      sensorId,
      seat,
      outlook: cellOutlook(cell, outlookOf(model.lawFor(cell) as StratumLaw), rules, asOf, nextVisitAt(seat.unitId)),
    }),
  )
  return { asOf, lives, issues, model, mounted, outlookOf }
}

/**
 * The mounted cells of some sensors under laws that the whole fleet taught earlier; undefined where one of them has no
 * law yet.
 */
export function cellsUnder(
  laws: readonly StratumLaw[],
  sensors: readonly SensorRecord[],
  rules: HouseRules,
  asOf: number,
  nextVisitAt: NextVisit,
): MountedCell[] | undefined {
  const { lawFor } = lifeModelOf(laws)
  const mounted: MountedCell[] = []
  for (const { sensorId, seat, cell } of gatherCells(sensors, asOf).inService) {
    const law = lawFor(cell)
    if (!law) return undefined
    mounted.push({
      sensorId,
      seat,
      outlook: cellOutlook(cell, lifeOutlook(law), rules, asOf, nextVisitAt(seat.unitId)),
    })
  }
  return mounted
}

/** battery-due and battery-overdue of the units in service. */
export function batteryFindings(mounted: readonly MountedCell[], rules: HouseRules): Finding[] {
  return mounted.flatMap(({ outlook, seat: { unitId, groupId, circuitId, retired } }) =>
    retired ? [] : (batteryFinding(outlook, { unitId, groupId, circuitId }, rules) ?? []),
  )
}
