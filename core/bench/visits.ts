/** Days here are whole days since 1970-01-01 (UTC midnight / 86,400,000 ms). */
export type DayNumber = number

export const workKinds = ['cell', 'recalibration', 'repair'] as const
export type WorkKind = (typeof workKinds)[number]

/** One thing to do on one unit. */
export interface WorkItem {
  /** The caller's own name for it, such as a sensor's serial or a finding's id. */
  readonly id: string
  readonly kind: WorkKind
  readonly unitId: number
  readonly unit: string
  /** null: the unit has no yard; such units share one bench of their own. */
  readonly yardId: number | null
  /** Last day on which it is in time; may have passed. */
  readonly dueDay: DayNumber
  /** More than 0. */
  readonly minutes: number
  /** Which of two with one due day goes first, the greater; for a cell its risk, 0 to 1. */
  readonly urgency: number
}

/** A day on which a unit comes in anyway. */
export interface PlannedVisit {
  readonly unitId: number
  readonly day: DayNumber
  /** null: the unit's own yard. */
  readonly yardId: number | null
}

/** The work that one visit of one unit does. */
export interface Visit {
  readonly unitId: number
  readonly unit: string
  readonly yardId: number | null
  /** Earliest due day of its items. */
  readonly dueDay: DayNumber
  readonly minutes: number
  readonly urgency: number
  readonly items: readonly WorkItem[]
  /** The planned visit that it uses; null: the unit has to be called in. */
  readonly plannedDay: DayNumber | null
}

export interface PlanWindow {
  /** First day that can still be planned: today or the next. */
  readonly firstDay: DayNumber
  /** Work due up to this day is planned. */
  readonly lastDay: DayNumber
  /** Work due within so many days after a visit is done at that visit, 0 or more. */
  readonly gatherDays: number
}

/** Work whose day has already passed waits so long for a planned visit before the unit is called in. */
const patienceDays = 7

const earliestFirst = (p: WorkItem, q: WorkItem) =>
  p.dueDay - q.dueDay || q.urgency - p.urgency || (p.id < q.id ? -1 : p.id > q.id ? 1 : 0)

function visitOf(items: readonly WorkItem[], planned: PlannedVisit | null): Visit {
  const first = items[0] as WorkItem
  return {
    unitId: first.unitId,
    unit: first.unit,
    yardId: planned?.yardId ?? first.yardId,
    dueDay: first.dueDay,
    items,
    plannedDay: planned?.day ?? null,
    minutes: items.reduce((sum, { minutes }) => sum + minutes, 0),
    urgency: items.reduce((most, { urgency }) => Math.max(most, urgency), 0),
  }
}

/** The first planned visit at which the item is nearly due, else the last one before its due day. */
function plannedFor(
  item: WorkItem,
  visits: readonly PlannedVisit[],
  { firstDay, lastDay, gatherDays }: PlanWindow,
): PlannedVisit | undefined {
  const inTime = visits.filter(({ day }) => day <= (item.dueDay < firstDay ? firstDay + patienceDays : item.dueDay))
  const near = inTime.find(({ day }) => item.dueDay <= day + gatherDays)
  return near ?? (item.dueDay <= lastDay ? inTime.at(-1) : undefined)
}

function visitsOfUnit(items: readonly WorkItem[], planned: readonly PlannedVisit[], window: PlanWindow): Visit[] {
  const sorted = [...items].sort(earliestFirst)
  const comes = planned.filter(({ day }) => day >= window.firstDay).sort((p, q) => p.day - q.day)
  const atPlanned = new Map<PlannedVisit, WorkItem[]>()
  const called: WorkItem[] = []
  for (const item of sorted) {
    const visit = plannedFor(item, comes, window)
    if (visit) atPlanned.set(visit, [...(atPlanned.get(visit) ?? []), item])
    else called.push(item)
  }
  const visits = [...atPlanned].map(([visit, work]) => visitOf(work, visit))
  for (let i = 0; i < called.length; ) {
    const { dueDay } = called[i] as WorkItem
    if (dueDay > window.lastDay) break
    const reach = Math.max(dueDay, window.firstDay) + window.gatherDays
    const end = called.findIndex((item, at) => at > i && item.dueDay > reach)
    const work = called.slice(i, end < 0 ? called.length : end)
    visits.push(visitOf(work, null))
    i += work.length
  }
  return visits
}

/**
 * Gathers work into visits, one unit at a time, so that one visit does all that is due or nearly due.
 *
 * An item goes to the unit's first planned visit from which it is due within `gatherDays`; where there is none, to the
 * last planned visit before its due day. What no planned visit serves in time is gathered into visits for which the
 * unit is called in: the earliest due item and everything due within `gatherDays` after it. Work due after `lastDay` is
 * done only where a visit takes it along; the rest is left for a later plan. Work already past its day waits for a
 * planned visit within a week.
 *
 * Order of the input does not matter. Errors: none.
 */
export function gatherVisits(
  items: readonly WorkItem[],
  planned: readonly PlannedVisit[],
  window: PlanWindow,
): Visit[] {
  const byUnit = new Map<number, WorkItem[]>()
  for (const item of items) {
    if (item.dueDay > window.lastDay + window.gatherDays) continue
    const work = byUnit.get(item.unitId)
    if (work) work.push(item)
    else byUnit.set(item.unitId, [item])
  }
  const plannedByUnit = new Map<number, PlannedVisit[]>()
  for (const visit of planned) {
    const known = plannedByUnit.get(visit.unitId)
    if (known) known.push(visit)
    else plannedByUnit.set(visit.unitId, [visit])
  }
  return [...byUnit]
    .sort(([p], [q]) => p - q)
    .flatMap(([unitId, work]) => visitsOfUnit(work, plannedByUnit.get(unitId) ?? [], window))
}
