import { type BenchNow, type PlanNow, commonConditions } from '#core/jobs/bench-now.ts'
import type { WeighTrip } from '#core/bench/weigh-trips.ts'
import { type VisitTime, benchDaysOn, spanName, visitTimeOf } from '#core/bench/bench-days.ts'
import { type BenchVisit, lateSentence } from '#core/bench/plan.ts'
import type { BenchItem, PlannedWork } from '#core/bench/work.ts'
import { type PlanFacts, whyEmpty } from '#core/bench/why-empty.ts'
import { nextBenchDay } from '#core/bench/yard-bench.ts'
import { cellCosts } from '#core/cells/cell-costs.ts'
import { deathShare } from '#core/cells/death-share.ts'
import type { MountedCell } from '#core/cells/fleet-cells.ts'
import type { LifeCondition, StratumLaw } from '#core/cells/life-model.ts'
import { type CellLife, type HistoryIssue, swapsByMonth } from '#core/cells/lives.ts'
import { isToSwapNow, yearlyCost } from '#core/cells/outlook.ts'
import { survivalCurve, weibullQuantileDays, weibullSurvival } from '#core/cells/survival.ts'
import type {
  BenchCostView,
  BenchItemView,
  BenchLivesView,
  BenchPlanView,
  BenchVisitView,
  UnitWorkView,
  WeighNextView,
} from '#core/contracts/bench.ts'
import type { ScaleFacts } from '#core/evidence/history.ts'
import { dayOf, dayOfNumber, daysBetween } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { sayLoad, sayTaught, sayWhyWeigh } from '#core/words/sentences/weigh-next.ts'
import { phrase } from '#core/words/phrase.ts'

/** More steps than a screen has points are thinned evenly; the last always stays. */
const mostSteps = 400
const lawPoints = 81

function thinned<T>(steps: readonly T[]): T[] {
  const every = Math.ceil(steps.length / mostSteps)
  return steps.filter((_, i) => i % every === 0 || i === steps.length - 1)
}

/** The curve of the record, in which an end counts as a death as far as it does for the law drawn through it. */
function viewObserved(lives: readonly CellLife[], lowShare: number, confidence: number) {
  const { steps, medianDays } = survivalCurve(
    lives.map((life) => ({ days: life.days, deaths: deathShare(life, lowShare) })),
    confidence,
  )
  const shown = thinned(steps)
  return {
    medianDays,
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
        died: own.filter(({ died }) => died).length,
        low: own.filter(({ endedBy }) => endedBy === 'low').length,
        lifeDays: law.lifeDays,
        lifeLowDays: law.lifeDays * Math.exp(-half),
        lifeHighDays: law.lifeDays * Math.exp(half),
        shape: law.shape,
        swapAgeDays: outlook.ageAtRisk(0, rules.batteryRiskPercent / 100),
        predictedLifeDays: outlook.predictedLifeDays,
        ...viewObserved(own, rules.lowCellDeathPercent / 100, confidence),
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
export function viewCost(
  { cells: { asOf, lives, mounted, model, outlookOf }, rules }: BenchNow,
  prices: ReadonlyMap<string, number>,
): BenchCostView {
  const costs = cellCosts(prices, rules)
  const { priceOf, swapDollars, deathDollars } = costs
  const yearlyAt = ({ cell, reportEveryS }: LifeCondition) => {
    const law = model.lawFor({ cell, reportEveryS }) as StratumLaw
    const { swapAgeDays, cells, deaths } = yearlyCost(outlookOf(law), rules.batteryRiskPercent / 100)
    const dollars = cells * (priceOf(cell) + swapDollars) + deaths * deathDollars
    return { reportEveryS, swapAgeDays, cells, deaths, dollars }
  }
  return {
    asOf: toStoredInstant(asOf),
    months: swapsByMonth(lives, model, costs, rules),
    swapDollars,
    deathDollars,
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

/** Without what the contract does not name, which is not sent. */
const viewItem = ({ dueDay, ...item }: BenchItem): BenchItemView => ({ ...item, dueOn: dayOfNumber(dueDay) })

function viewVisit(visit: BenchVisit, when: VisitTime, yardName: YardName): BenchVisitView {
  const { yardId, unit, day, untilDay, dueDay, minutes, plannedDay, missedPlannedDay, lateDays, items } = visit
  return {
    yard: yardName(yardId),
    unit,
    when,
    day: dayOfNumber(day),
    untilDay: dayOfNumber(untilDay),
    dueOn: dayOfNumber(dueDay),
    dueNow: (items as readonly BenchItem[]).some(({ dueNow }) => dueNow),
    minutes,
    plannedOn: plannedDay === null ? null : dayOfNumber(plannedDay),
    missedPlannedOn: missedPlannedDay === null ? null : dayOfNumber(missedPlannedDay),
    lateDays,
    problem: lateSentence(visit) ?? null,
    items: (items as readonly BenchItem[]).map(viewItem),
  }
}

function viewBenches(
  { visits, benches, firstDay, lastDay }: PlannedWork,
  yardName: YardName,
): BenchPlanView['benches'] {
  const used = new Map<number | null, Map<number, number>>()
  for (const { yardId, parts } of visits) {
    const days = used.get(yardId) ?? new Map<number, number>()
    used.set(yardId, days)
    for (const { day, size } of parts) days.set(day, (days.get(day) ?? 0) + size)
  }
  return [...used].map(([yardId, days]) => {
    const { counts, roomOn } = benches(yardId)
    return {
      yard: yardName(yardId),
      counts,
      days: Array.from({ length: lastDay - firstDay + 1 }, (_, i) => firstDay + i)
        .filter((day) => roomOn(day) > 0)
        .map((day) => ({ day: dayOfNumber(day), room: roomOn(day), used: days.get(day) ?? 0 })),
    }
  })
}

const viewIssues = (issues: readonly HistoryIssue[]) =>
  issues.map(({ serial, at, message }) => ({ serial, at: toStoredInstant(at), message }))
const viewPlanned = (planned: PlanNow['planned']) =>
  planned.map(({ id, unit, yard, visit_on }) => ({ id, unit, yard, on: visit_on }))

/** What the record asks for and no visit of the plan does yet, the first of each yard. */
function firstLater({ items, plan }: PlanNow, yardName: YardName): PlanFacts['later'] {
  const placed = new Set([...plan.visits, ...plan.unplaced].flatMap((visit) => visit.items.map(({ id }) => id)))
  const waiting = Map.groupBy(
    items.filter(({ id }) => !placed.has(id)),
    ({ yardId }) => yardId,
  )
  return [...waiting].map(([yardId, jobs]) => {
    const first = jobs.reduce((soonest, job) => (job.dueDay < soonest.dueDay ? job : soonest))
    return { yard: yardName(yardId), unit: first.unit, dueOn: dayOfNumber(first.dueDay) }
  })
}

/** Which visits of a plan are listed. */
export interface PlanAsked {
  /** The House Rules' where they are left out. */
  readonly days?: number | undefined
  /** null: of units without a yard; left out: of all. */
  readonly yard?: string | null | undefined
  readonly when?: 'today' | 'this week' | 'all' | undefined
  readonly offset?: number | undefined
  /** Of all of them where it is left out. */
  readonly limit?: number | undefined
}

type NotMet = BenchPlanView['notMet'][number]
type MissedVisit = NotMet['first'][number] & Pick<NotMet, 'because'>

/** What a plan cannot meet, those that are late first. */
const missedVisits = ({ late, unplaced }: PlannedWork, yardName: YardName): MissedVisit[] => [
  ...late.flatMap((visit) =>
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
  ...unplaced.map(({ unit, yardId, dueDay }) => ({
    unit,
    yard: yardName(yardId),
    dueOn: dayOfNumber(dueDay),
    day: null,
    because: 'no bench time' as const,
    message: phrase('Unit {unit} is due on {dueDay}, but its yard has no bench time.', {
      unit,
      dueDay: dayOfNumber(dueDay),
    }),
  })),
]

/** Rows of a list beside the visits that are told; the rest are counted. */
const mostTold = 100

/** A page of today's plan, with what stands around it. */
export function viewPlan(
  now: PlanNow,
  { yard, when = 'all', offset = 0, limit }: PlanAsked,
  asOf: number,
  yards: ReadonlyMap<number, string>,
): BenchPlanView {
  const { cells, plan, groups } = now
  const today = dayOfNumber(plan.firstDay)
  const yardName: YardName = (yardId) => (yardId === null ? null : (yards.get(yardId) ?? null))
  const isListed = (of: string | null) => yard === undefined || of === yard
  const nextOf = new Map(
    [...yards.keys(), null].map((yardId) => {
      const next = nextBenchDay(plan.benches(yardId), plan.firstDay)
      return [yardId, next === null ? null : dayOfNumber(next)]
    }),
  )
  const timed = plan.visits.map((visit) => ({
    visit,
    yard: yardName(visit.yardId),
    time: visitTimeOf(dayOfNumber(visit.day), nextOf.get(visit.yardId) ?? null),
  }))
  const next = timed.filter(({ time }) => time === 'today')
  const own = timed.filter((each) => isListed(each.yard))
  const listed = own.filter(({ time }) => when === 'all' || time === 'today' || time === when)
  // The bench of units without a yard is told where it is asked for, or there are such units.
  const allDays = benchDaysOn(plan.benches, yards, plan.firstDay).filter(
    (bench) => bench.yard !== null || yard === null || timed.some((each) => each.yard === null),
  )
  const benchDays = allDays.filter((bench) => isListed(bench.yard))
  const lastDay = dayOfNumber(plan.lastDay)
  const facts: PlanFacts = {
    lastDay,
    sensors: cells.mounted.filter(({ seat }) => !seat.retired).length,
    groups,
    visits: timed.map((each) => ({ yard: each.yard, day: dayOfNumber(each.visit.day) })),
    later: firstLater(now, yardName),
  }
  const missed = Map.groupBy(
    missedVisits(plan, yardName).filter((each) => isListed(each.yard)),
    ({ because }) => because,
  )
  const issues = viewIssues(cells.issues)
  return {
    asOf: toStoredInstant(asOf),
    firstDay: today,
    lastDay,
    next: {
      when: spanName('today', allDays, today),
      visits: next.length,
      cells: next.flatMap(({ visit }) => visit.items.filter(({ kind }) => kind === 'cell')).length,
    },
    visits: listed
      .slice(offset, limit === undefined ? undefined : offset + limit)
      .map(({ visit, time }) => viewVisit(visit, time, yardName)),
    total: listed.length,
    whyEmpty:
      listed.length === 0 ? whyEmpty(facts, yard, when === 'all' ? null : spanName(when, benchDays, today)) : null,
    benches: viewBenches(plan, yardName).filter((bench) => isListed(bench.yard)),
    benchDays,
    overdue: own.flatMap(({ visit }) =>
      (visit.items as readonly BenchItem[]).filter(({ dueDay }) => dueDay < plan.firstDay),
    ).length,
    notMet: Array.from(missed, ([because, visits]) => ({
      because,
      visits: visits.length,
      first: visits.slice(0, mostTold).map(({ because: _, ...visit }) => visit),
    })),
    contradictions: { total: issues.length, first: issues.slice(0, mostTold) },
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
  now: isToSwapNow(outlook),
  predictedEndOn: dayOf(outlook.predictedEndAt, zone),
  nextVisitOn: dayOf(outlook.nextVisitAt, zone),
  visitAssumed: outlook.visitAssumed,
  risk: outlook.riskBeforeVisit,
  state: outlook.state,
  deadSince: outlook.deadSince === null ? null : dayOf(outlook.deadSince, zone),
})

/** What is to be done on one unit, without its head and the standing texts. */
export type OwnWork = Pick<UnitWorkView, 'items' | 'cells' | 'plannedVisits' | 'contradictions'>

export function viewUnitWork({ cells, items, plan, planned, rules }: PlanNow, unitId: number): OwnWork {
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
