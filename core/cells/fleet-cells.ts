import {
  type LifeCondition,
  type LifeModel,
  type StratumLaw,
  fitLifeModel,
  houseRulesPrior,
  lifeModelOf,
} from '#core/cells/life-model.ts'
import { type CellHistory, type CellInService, type CellLife, type HistoryIssue, cellLives } from '#core/cells/lives.ts'
import { type CellOutlook, type LifeOutlook, cellOutlook, isToSwapNow, lifeOutlook } from '#core/cells/outlook.ts'
import { type Finding, findingSeverities } from '#core/findings/finding.ts'
import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { dayMs } from '#core/words/instant.ts'
import { saying } from '#core/words/sentences/findings.ts'

/** Where the sensor sits, for the finding and its sentence. */
export interface SensorSeat {
  readonly unitId: number
  readonly groupId: number
  readonly circuitId: number
}

const days = (count: number) => Math.round(count)

/**
 * What a cell's outlook gives to report: battery-overdue when it is counted as dead or its predicted life has passed,
 * else battery-due when the risk before the next visit is above the House Rules or the predicted life ends before it,
 * else nothing. One finding a cell: overdue includes due. `since`: the end of its life when overdue; unknown (null)
 * when due, since the risk depends on the day of the visit.
 */
export function batteryFinding(outlook: CellOutlook, seat: SensorSeat, rules: HouseRules): Finding | null {
  if (outlook.state === 'fine') return null
  const { zone } = rules
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
  const { deadSince } = outlook
  const overdue = outlook.state === 'overdue' || deadSince !== null
  const limit = rules.batteryRiskPercent
  const facts = {
    serial,
    cell,
    ageDays: days(ageDays),
    countedFrom: installAssumed ? ('mounting' as const) : ('change' as const),
    riskPercent: 100 * riskBeforeVisit,
    visitAt: nextVisitAt,
    visit: visitAssumed ? ('assumed' as const) : ('planned' as const),
  }
  const swapBy = isToSwapNow(outlook) ? null : swapByAt
  const living = () =>
    overdue
      ? saying('battery-overdue', 'cell', { ...facts, endedAt: predictedEndAt })
      : riskBeforeVisit * 100 > limit
        ? saying('battery-due', 'risk', { ...facts, swapByAt: swapBy, limitPercent: limit })
        : saying('battery-due', 'life', { ...facts, swapByAt: swapBy, endsAt: predictedEndAt })
  const said = deadSince === null ? living() : saying('battery-overdue', 'silent', { ...facts, deadSince })
  return {
    ...said,
    severity: findingSeverities[said.code],
    evidence: deadSince === null ? String(installedAt) : `${installedAt}/silent`,
    ...seat,
    scaleId: null,
    ticketId: null,
    since: overdue ? predictedEndAt : null,
    numbers: {
      serial,
      cell,
      installed_on: dayOf(installedAt, zone),
      age_days: days(ageDays),
      predicted_life_days: days((predictedEndAt - installedAt) / dayMs),
      swap_by: dayOf(swapByAt, zone),
      next_visit: dayOf(nextVisitAt, zone),
      risk_percent: Number((riskBeforeVisit * 100).toFixed(1)),
      limit_percent: limit,
    },
  }
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
function gatherCells(sensors: readonly SensorRecord[], { zone }: HouseRules, asOf: number) {
  const lives: CellLife[] = []
  const issues: HistoryIssue[] = []
  const inService: CellInSeat[] = []
  for (const sensor of sensors) {
    const own = cellLives(sensor, asOf, zone)
    for (const life of own.lives) lives.push(life)
    for (const issue of own.issues) issues.push(issue)
    if (own.inService && sensor.seat)
      inService.push({ sensorId: sensor.sensorId, seat: sensor.seat, cell: own.inService })
  }
  return { lives, issues, inService }
}

/** Of a unit's next planned visit, later than the day that is asked about; null where none is planned. */
export type NextVisit = (unitId: number) => number | null

export interface LawsWanted {
  /** Conditions that nobody uses yet and that need a law nevertheless. */
  readonly alsoFor?: ((used: readonly LifeCondition[]) => readonly LifeCondition[]) | undefined
  /** Laws that the fleet taught earlier and that stand; only conditions without one get theirs from the lives. */
  readonly laws?: readonly StratumLaw[] | undefined
}

/** Judges every cell on a day (ms UTC) against the fleet's own lives. */
export function assessCells(
  sensors: readonly SensorRecord[],
  rules: HouseRules,
  asOf: number,
  nextVisitAt: NextVisit,
  { alsoFor = () => [], laws = [] }: LawsWanted = {},
): FleetCells {
  const { lives, issues, inService } = gatherCells(sensors, rules, asOf)
  const used = inService.map(({ cell }) => cell)
  const fitted = fitLifeModel(
    lives,
    [...used, ...alsoFor(used)],
    houseRulesPrior(rules),
    rules.lowCellDeathPercent / 100,
  )
  const standing = lifeModelOf(laws)
  const model = lifeModelOf(
    fitted.strata.map((law) => standing.lawFor(law) ?? law),
    fitted.shape,
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
  for (const { sensorId, seat, cell } of gatherCells(sensors, rules, asOf).inService) {
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
