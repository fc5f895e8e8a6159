import type { BenchItemView, BenchPlanView, BenchVisitView, UnitWorkView, VisitTime } from '#core/api/bench-contract.ts'
import type { PlanNow } from '#core/api/bench-now.ts'
import { type BenchVisit, lateSentence } from '#core/battery/bench-plan.ts'
import type { BenchItem, PlannedWork } from '#core/battery/bench-work.ts'
import type { MountedCell } from '#core/battery/fleet-cells.ts'
import type { HistoryIssue } from '#core/battery/lives.ts'
import { dayOf, toStoredInstant } from '#core/fleet/instant.ts'

const dayMs = 86_400_000
const onDay = (day: number): string => dayOf(day * dayMs)

type YardName = (yardId: number | null) => string | null

/** The last day of the week of a day, a Sunday; day 0, 1970-01-01, was a Thursday. */
const sundayOf = (day: number): number => day + 6 - ((((day + 3) % 7) + 7) % 7)
const timeOf = (day: number, today: number): VisitTime =>
  day === today ? 'today' : day <= sundayOf(today) ? 'this week' : 'later'

const viewItem = ({
  id,
  kind,
  what,
  group,
  circuit,
  serial,
  cell,
  risk,
  code,
  dueDay,
  minutes,
}: BenchItem): BenchItemView => ({
  id,
  kind,
  what,
  group,
  circuit,
  serial,
  cell,
  risk,
  code,
  dueOn: onDay(dueDay),
  minutes,
})

function viewVisit(visit: BenchVisit, today: number, yardName: YardName): BenchVisitView {
  const { yardId, unit, day, untilDay, dueDay, minutes, plannedDay, missedPlannedDay, lateDays, items } = visit
  return {
    yard: yardName(yardId),
    unit,
    when: timeOf(day, today),
    day: onDay(day),
    untilDay: onDay(untilDay),
    dueOn: onDay(dueDay),
    minutes,
    plannedOn: plannedDay === null ? null : onDay(plannedDay),
    missedPlannedOn: missedPlannedDay === null ? null : onDay(missedPlannedDay),
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
      .map((day) => ({ day: onDay(day), minutes: capacity(yardId, day), used: days.get(day) ?? 0 })),
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
    firstDay: onDay(plan.firstDay),
    lastDay: onDay(plan.lastDay),
    visits: plan.visits.map((visit) => viewVisit(visit, plan.firstDay, yardName)),
    benches: viewBenches(plan, yardName),
    notMet: [
      ...plan.late.flatMap((visit) =>
        visit.lateBecause === null
          ? []
          : {
              unit: visit.unit,
              yard: yardName(visit.yardId),
              dueOn: onDay(visit.dueDay),
              day: onDay(visit.untilDay),
              because: visit.lateBecause,
              message: lateSentence(visit) as string,
            },
      ),
      ...plan.unplaced.map(({ unit, yardId, dueDay }) => ({
        unit,
        yard: yardName(yardId),
        dueOn: onDay(dueDay),
        day: null,
        because: 'no bench time' as const,
        message: `Unit ${unit} is due on ${onDay(dueDay)}, but its yard has no bench time.`,
      })),
    ],
    plannedVisits: viewPlanned(planned),
    contradictions: viewIssues(cells.issues),
    assumedCells: cells.mounted.filter(({ outlook }) => outlook.installAssumed).length,
    yards: [...yards.values()].sort(),
  }
}

const viewCell = ({ seat, outlook }: MountedCell): UnitWorkView['cells'][number] => ({
  serial: outlook.serial,
  group: seat.group,
  circuit: seat.circuit,
  cell: outlook.cell,
  reportEveryS: outlook.reportEveryS,
  installedOn: dayOf(outlook.installedAt),
  installAssumed: outlook.installAssumed,
  ageDays: Math.floor(outlook.ageDays),
  swapBy: dayOf(outlook.swapByAt),
  predictedEndOn: dayOf(outlook.predictedEndAt),
  nextVisitOn: dayOf(outlook.nextVisitAt),
  visitAssumed: outlook.visitAssumed,
  risk: outlook.riskBeforeVisit,
  state: outlook.state,
})

/** What is to be done on one unit, without its head and the standing texts. */
export function viewUnitWork(
  { cells, items, plan, planned }: PlanNow,
  unitId: number,
): Pick<UnitWorkView, 'items' | 'cells' | 'plannedVisits' | 'contradictions'> {
  const visitOn = new Map(
    plan.visits
      .filter((visit) => visit.unitId === unitId)
      .flatMap(({ items: work, day }) => work.map(({ id }) => [id, onDay(day)] as const)),
  )
  const mounted = cells.mounted.filter(({ seat }) => seat.unitId === unitId)
  const serials = new Set(mounted.map(({ outlook }) => outlook.serial))
  return {
    items: items
      .filter((item) => item.unitId === unitId)
      .sort((p, q) => p.dueDay - q.dueDay || q.urgency - p.urgency)
      .map((item) => ({ ...viewItem(item), visitOn: visitOn.get(item.id) ?? null })),
    cells: mounted.map(viewCell).sort((p, q) => (p.swapBy < q.swapBy ? -1 : 1)),
    plannedVisits: viewPlanned(planned.filter(({ unit_id }) => unit_id === unitId)),
    contradictions: viewIssues(cells.issues.filter(({ serial }) => serials.has(serial))),
  }
}
