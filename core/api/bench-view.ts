import { type BenchNow, type PlanNow, commonConditions } from '#core/api/bench-now.ts'
import type { WeighTrip } from '#core/bench/weigh-trips.ts'
import { type BenchVisit, lateSentence } from '#core/bench/plan.ts'
import type { BenchItem, PlannedWork } from '#core/bench/work.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import type { LifeCondition, StratumLaw } from '#core/cells/life-model.ts'
import { type CellLife, type HistoryIssue, swapsByMonth } from '#core/cells/lives.ts'
import { yearlyCost } from '#core/cells/outlook.ts'
import { survivalCurve, weibullQuantileDays, weibullSurvival } from '#core/cells/survival.ts'
import type {
  BenchCostView,
  BenchItemView,
  BenchLivesView,
  BenchPlanView,
  BenchVisitView,
  UnitWorkView,
  VisitTime,
  WeighNextView,
} from '#core/contracts/bench.ts'
import type { ScaleFacts } from '#core/evidence/history.ts'
import { dayOf, dayOfNumber, daysBetween, weekday } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { sayLoad, sayTaught, sayWhyWeigh } from '#core/words/sentences/weigh-next.ts'

/** More steps than a screen has points are thinned evenly; the last always stays. */
const mostSteps = 400
const lawPoints = 81

function thinned<T>(steps: readonly T[]): T[] {
  const every = Math.ceil(steps.length / mostSteps)
  return steps.filter((_, i) => i % every === 0 || i === steps.length - 1)
}

function viewObserved(lives: readonly CellLife[], confidence: number) {
  const { steps, medianDays, deaths } = survivalCurve(lives, confidence)
  const shown = thinned(steps)
  return {
    medianDays,
    died: deaths,
    observed: {
      days: [0, ...shown.map(({ days }) => days)],
      alive: [1, ...shown.map(({ survival }) => survival)],
      lower: [1, ...shown.map(({ lower }) => lower)],
      upper: [1, ...shown.map(({ upper }) => upper)],
    },
  }
}

function viewLaw(law: StratumLaw, confidence: number) {
  const last = weibullQuantileDays(law, 0.995)
  const days = Array.from({ length: lawPoints }, (_, i) => (last * i) / (lawPoints - 1))
  const at = days.map((day) => weibullSurvival(law, day, confidence))
  return {
    days,
    alive: at.map(({ survival }) => survival),
    lower: at.map(({ lower }) => lower),
    upper: at.map(({ upper }) => upper),
  }
}

/**
 * Life curves by cell and interval: what was observed, the law with its band, and the figures in words. Conditions that
 * nobody ever used are left out.
 */
export function viewLives({ cells: { asOf, lives, mounted, model, outlookOf }, rules }: BenchNow): BenchLivesView {
  const confidence = 0.95
  const livesOf = new Map<StratumLaw, CellLife[]>()
  for (const life of lives) {
    const law = model.lawFor(life) as StratumLaw
    const known = livesOf.get(law)
    if (known) known.push(life)
    else livesOf.set(law, [life])
  }
  const sensors = new Map<StratumLaw, number>()
  for (const { outlook } of mounted) {
    const law = model.lawFor(outlook) as StratumLaw
    sensors.set(law, (sensors.get(law) ?? 0) + 1)
  }
  const strata = model.strata
    .filter((law) => livesOf.has(law) || sensors.has(law))
    .map((law) => {
      const own = livesOf.get(law) ?? []
      const half = 1.959963984540054 * Math.sqrt(law.varLnLife)
      const outlook = outlookOf(law)
      return {
        cell: law.cell,
        reportEveryS: law.reportEveryS,
        sensors: sensors.get(law) ?? 0,
        lives: own.length,
        low: own.filter(({ endedBy }) => endedBy === 'low').length,
        lifeDays: law.lifeDays,
        lifeLowDays: law.lifeDays * Math.exp(-half),
        lifeHighDays: law.lifeDays * Math.exp(half),
        shape: law.shape,
        swapAgeDays: outlook.ageAtRisk(0, rules.batteryRiskPercent / 100),
        predictedLifeDays: outlook.predictedLifeDays,
        ...viewObserved(own, confidence),
        law: viewLaw(law, confidence),
      }
    })
  return {
    asOf: toStoredInstant(asOf),
    confidence,
    strata: strata.sort((p, q) => q.sensors - p.sensors || q.lives - p.lives),
  }
}

/** What swapping cost by month, and what one sensor would take a year at faster intervals. */
export function viewCost({ cells: { asOf, lives, mounted, model, outlookOf }, rules }: BenchNow): BenchCostView {
  const yearlyAt = (condition: LifeCondition) => ({
    reportEveryS: condition.reportEveryS,
    ...yearlyCost(outlookOf(model.lawFor(condition) as StratumLaw), rules.batteryRiskPercent / 100),
  })
  return {
    asOf: toStoredInstant(asOf),
    months: swapsByMonth(lives, model, rules),
    riskPercent: rules.batteryRiskPercent,
    intervals: commonConditions(mounted.map(({ outlook }) => outlook)).map(({ condition, sensors, faster }) => ({
      cell: condition.cell,
      sensors,
      now: yearlyAt(condition),
      faster: faster.map(yearlyAt),
    })),
  }
}

type YardName = (yardId: number | null) => string | null

/** The last day of the week of a day, a Sunday. */
const sundayOf = (day: number): number => day + 7 - weekday(dayOfNumber(day))
const timeOf = (day: number, today: number): VisitTime =>
  day === today ? 'today' : day <= sundayOf(today) ? 'this week' : 'later'

/** Without what the contract does not name, which is not sent. */
const viewItem = ({ dueDay, ...item }: BenchItem): BenchItemView => ({ ...item, dueOn: dayOfNumber(dueDay) })

function viewVisit(visit: BenchVisit, today: number, yardName: YardName): BenchVisitView {
  const { yardId, unit, day, untilDay, dueDay, minutes, plannedDay, missedPlannedDay, lateDays, items } = visit
  return {
    yard: yardName(yardId),
    unit,
    when: timeOf(day, today),
    day: dayOfNumber(day),
    untilDay: dayOfNumber(untilDay),
    dueOn: dayOfNumber(dueDay),
    minutes,
    plannedOn: plannedDay === null ? null : dayOfNumber(plannedDay),
    missedPlannedOn: missedPlannedDay === null ? null : dayOfNumber(missedPlannedDay),
    lateDays,
    problem: lateSentence(visit) ?? null,
    items: (items as readonly BenchItem[]).map(viewItem),
  }
}

function viewBenches(
  { visits, capacity, firstDay, lastDay }: PlannedWork,
  yardName: YardName,
): BenchPlanView['benches'] {
  const used = new Map<number | null, Map<number, number>>()
  for (const { yardId, parts } of visits) {
    const days = used.get(yardId) ?? new Map<number, number>()
    used.set(yardId, days)
    for (const { day, minutes } of parts) days.set(day, (days.get(day) ?? 0) + minutes)
  }
  return [...used].map(([yardId, days]) => ({
    yard: yardName(yardId),
    days: Array.from({ length: lastDay - firstDay + 1 }, (_, i) => firstDay + i)
      .filter((day) => capacity(yardId, day) > 0)
      .map((day) => ({ day: dayOfNumber(day), minutes: capacity(yardId, day), used: days.get(day) ?? 0 })),
  }))
}

const viewIssues = (issues: readonly HistoryIssue[]) =>
  issues.map(({ serial, at, message }) => ({ serial, at: toStoredInstant(at), message }))
const viewPlanned = (planned: PlanNow['planned']) =>
  planned.map(({ id, unit, yard, visit_on }) => ({ id, unit, yard, on: visit_on }))

export function viewPlan(
  { cells, plan, planned }: PlanNow,
  asOf: number,
  yards: ReadonlyMap<number, string>,
): BenchPlanView {
  const yardName: YardName = (yardId) => (yardId === null ? null : (yards.get(yardId) ?? null))
  return {
    asOf: toStoredInstant(asOf),
    firstDay: dayOfNumber(plan.firstDay),
    lastDay: dayOfNumber(plan.lastDay),
    visits: plan.visits.map((visit) => viewVisit(visit, plan.firstDay, yardName)),
    benches: viewBenches(plan, yardName),
    notMet: [
      ...plan.late.flatMap((visit) =>
        visit.lateBecause === null
          ? []
          : {
              unit: visit.unit,
              yard: yardName(visit.yardId),
              dueOn: dayOfNumber(visit.dueDay),
              day: dayOfNumber(visit.untilDay),
              because: visit.lateBecause,
              message: lateSentence(visit) as string,
            },
      ),
      ...plan.unplaced.map(({ unit, yardId, dueDay }) => ({
        unit,
        yard: yardName(yardId),
        dueOn: dayOfNumber(dueDay),
        day: null,
        because: 'no bench time' as const,
        message: `Unit ${unit} is due on ${dayOfNumber(dueDay)}, but its yard has no bench time.`,
      })),
    ],
    plannedVisits: viewPlanned(planned),
    contradictions: viewIssues(cells.issues),
    assumedCells: cells.mounted.filter(({ outlook }) => outlook.installAssumed).length,
    yards: [...yards.values()].sort(),
  }
}

const viewCell = ({ seat, outlook }: MountedCell, zone: string): UnitWorkView['cells'][number] => ({
  serial: outlook.serial,
  group: seat.group,
  circuit: seat.circuit,
  cell: outlook.cell,
  reportEveryS: outlook.reportEveryS,
  installedOn: dayOf(outlook.installedAt, zone),
  installAssumed: outlook.installAssumed,
  ageDays: daysBetween(dayOf(outlook.installedAt, zone), dayOf(outlook.asOf, zone)),
  swapBy: dayOf(outlook.swapByAt, zone),
  predictedEndOn: dayOf(outlook.predictedEndAt, zone),
  nextVisitOn: dayOf(outlook.nextVisitAt, zone),
  visitAssumed: outlook.visitAssumed,
  risk: outlook.riskBeforeVisit,
  state: outlook.state,
  deadSince: outlook.deadSince === null ? null : dayOf(outlook.deadSince, zone),
})

/** What is to be done on one unit, without its head and the standing texts. */
export function viewUnitWork(
  { cells, items, plan, planned, rules }: PlanNow,
  unitId: number,
): Pick<UnitWorkView, 'items' | 'cells' | 'plannedVisits' | 'contradictions'> {
  const visitOn = new Map(
    plan.visits
      .filter((visit) => visit.unitId === unitId)
      .flatMap(({ items: work, day }) => work.map(({ id }) => [id, dayOfNumber(day)] as const)),
  )
  const mounted = cells.mounted.filter(({ seat }) => seat.unitId === unitId)
  const serials = new Set(mounted.map(({ outlook }) => outlook.serial))
  return {
    items: items
      .filter((item) => item.unitId === unitId)
      .sort((p, q) => p.dueDay - q.dueDay || q.urgency - p.urgency)
      .map((item) => ({ ...viewItem(item), visitOn: visitOn.get(item.id) ?? null })),
    cells: mounted.map((cell) => viewCell(cell, rules.zone)).sort((p, q) => (p.swapBy < q.swapBy ? -1 : 1)),
    plannedVisits: viewPlanned(planned.filter(({ unit_id }) => unit_id === unitId)),
    contradictions: viewIssues(cells.issues.filter(({ serial }) => serials.has(serial))),
  }
}

/** Trips to the scale under the names that people use. */
export const viewTrips = (
  trips: readonly WeighTrip[],
  scales: ReadonlyMap<number, ScaleFacts>,
  say: Say,
): WeighNextView['trips'] =>
  trips.map(({ unit, yard, load, scaleId, regained, isWorthTrip, lessons }) => ({
    unit,
    yard,
    load,
    scale: scales.get(scaleId)?.name ?? '',
    regained,
    worthTrip: isWorthTrip,
    groups: lessons.map(({ group, lift, uNowLb, uAfterLb, why }) => ({
      group,
      how: sayLoad(load, lift),
      uNowLb,
      uAfterLb,
      taught: sayTaught({ uNowLb, uAfterLb }, say),
      why: sayWhyWeigh(why, say),
    })),
  }))
