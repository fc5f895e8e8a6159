import type { DayNumber, Visit } from '#core/bench/visits.ts'
import { fewestLate } from '#core/cells/outlook.ts'
import { dayOfNumber, weekday } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { at } from '#core/words/lists.ts'

/** A yard that has no room for a visit within so many days has none. */
const farthestDays = 3660

/** Bench minutes of a yard on a day, 0 or more. */
export type Capacity = (yardId: number | null, day: DayNumber) => number

/** A visit with its place in the plan. */
export interface BenchVisit extends Visit {
  /** Day on which it starts. */
  readonly day: DayNumber
  /** Day on which it is done; later than `day` when the unit stays overnight. */
  readonly untilDay: DayNumber
  /** Minutes of each day it takes. */
  readonly parts: readonly { readonly day: DayNumber; readonly minutes: number }[]
  /** Days past its due day on which it is done; 0 in time. */
  readonly lateDays: number
  /** Why it is late; null in time. */
  readonly lateBecause: 'date already past' | 'no room before its date' | null
  /** The planned visit it should have used, whose day was full or not worked. */
  readonly missedPlannedDay: DayNumber | null
}

export interface BenchPlan {
  /** By yard, then day, then the order in which to do them. */
  readonly visits: readonly BenchVisit[]
  /** Those of `visits` that are late, longest first. */
  readonly late: readonly BenchVisit[]
  /** Visits for which their yard has no bench time at all. */
  readonly unplaced: readonly Visit[]
}

/**
 * The House Rules' bench time: the same in every yard, on the first `benchDaysPerWeek` days of each week from Monday.
 */
export function houseRulesCapacity(rules: HouseRules): Capacity {
  return (_, day) => (weekday(dayOfNumber(day)) <= rules.benchDaysPerWeek ? rules.benchMinutesPerDay : 0)
}

const byDue = (p: Visit, q: Visit) => p.dueDay - q.dueDay || q.urgency - p.urgency || p.unitId - q.unitId

function place(
  visit: Visit,
  parts: BenchVisit['parts'],
  firstDay: DayNumber,
  missedPlannedDay: DayNumber | null,
): BenchVisit {
  const untilDay = at(parts, parts.length - 1).day
  const lateDays = Math.max(0, untilDay - visit.dueDay)
  return {
    ...visit,
    plannedDay: missedPlannedDay === null ? visit.plannedDay : null,
    day: at(parts, 0).day,
    untilDay,
    parts,
    lateDays,
    missedPlannedDay,
    lateBecause: lateDays === 0 ? null : visit.dueDay < firstDay ? 'date already past' : 'no room before its date',
  }
}

/** Minutes still free on each day of one yard, looked up as far ahead as needed. */
class Bench {
  readonly #left: number[] = []
  readonly #minutesOn: (ahead: number) => number

  constructor(minutesOn: (ahead: number) => number) {
    this.#minutesOn = minutesOn
  }

  left(ahead: number): number {
    for (let i = this.#left.length; i <= ahead; i += 1) this.#left.push(this.#minutesOn(i))
    return at(this.#left, ahead)
  }

  take(ahead: number, minutes: number): void {
    this.#left[ahead] = this.left(ahead) - minutes
  }

  copy(): Bench {
    const copy = new Bench(this.#minutesOn)
    copy.#left.push(...this.#left)
    return copy
  }
}

type Parts = { day: number; minutes: number }[]

/**
 * Each visit whole on the first day with room for it; undefined when one that could be in time is not, or none has
 * room.
 */
function placeWhole(
  visits: readonly Visit[],
  late: ReadonlySet<number>,
  bench: Bench,
  firstDay: DayNumber,
): Parts[] | undefined {
  const least = visits.reduce((fewest, { minutes }) => Math.min(fewest, minutes), Number.POSITIVE_INFINITY)
  const placed: Parts[] = []
  let open = 0
  for (const [i, { minutes, dueDay }] of visits.entries()) {
    while (open < farthestDays && bench.left(open) < least) open += 1
    let ahead = open
    while (ahead < farthestDays && bench.left(ahead) < minutes) ahead += 1
    if (ahead === farthestDays || (!late.has(i) && firstDay + ahead > dueDay)) return undefined
    bench.take(ahead, minutes)
    placed.push([{ day: firstDay + ahead, minutes }])
  }
  return placed
}

/**
 * One visit after the other through the days' minutes; what a day cannot finish goes on the next. Empty parts: no room
 * at all.
 */
function placeInTurn(visits: readonly Visit[], bench: Bench, firstDay: DayNumber): Parts[] {
  let ahead = 0
  return visits.map(({ minutes }) => {
    const parts: Parts = []
    for (let wanted = minutes; wanted > 0; ) {
      while (ahead < farthestDays && bench.left(ahead) <= 0) ahead += 1
      if (ahead === farthestDays) return []
      const taken = Math.min(wanted, bench.left(ahead))
      bench.take(ahead, taken)
      parts.push({ day: firstDay + ahead, minutes: taken })
      wanted -= taken
    }
    return parts
  })
}

function planYard(
  visits: readonly Visit[],
  minutesOn: (ahead: number) => number,
  firstDay: DayNumber,
): { placed: BenchVisit[]; unplaced: Visit[] } {
  const bench = new Bench(minutesOn)
  const placed: BenchVisit[] = []
  const unplaced: Visit[] = []
  const bumped = new Map<Visit, DayNumber>()
  const planned = visits
    .flatMap((visit) => (visit.plannedDay === null ? [] : { visit, day: visit.plannedDay }))
    .sort((p, q) => p.day - q.day || byDue(p.visit, q.visit))
  for (const { visit, day } of planned) {
    if (visit.minutes <= bench.left(day - firstDay)) {
      bench.take(day - firstDay, visit.minutes)
      placed.push(place(visit, [{ day, minutes: visit.minutes }], firstDay, null))
    } else bumped.set(visit, day)
  }

  const open = visits.filter((visit) => visit.plannedDay === null || bumped.has(visit)).sort(byDue)
  // The bench's minutes in one line: a due day is the number of free minutes up to its end.
  const jobs: { minutes: number; deadline: number }[] = []
  let through = 0
  let passed = 0
  for (const { dueDay, minutes } of open) {
    for (; passed <= Math.min(dueDay - firstDay, farthestDays - 1); passed += 1) through += bench.left(passed)
    jobs.push({ minutes, deadline: dueDay < firstDay ? 0 : through })
  }
  const { order, late } = fewestLate(jobs)
  const inOrder = order.map((job) => at(open, job))
  const lateAt = new Set(order.flatMap((job, at) => (late.has(job) ? [at] : [])))
  const parts = placeWhole(inOrder, lateAt, bench.copy(), firstDay) ?? placeInTurn(inOrder, bench, firstDay)
  inOrder.forEach((visit, i) => {
    const taken = at(parts, i)
    if (taken.length === 0) unplaced.push(visit)
    else placed.push(place(visit, taken, firstDay, bumped.get(visit) ?? null))
  })
  return { placed, unplaced }
}

/**
 * Places visits on days, yard by yard, within the yards' bench minutes.
 *
 * The model: a yard's bench does one visit after another; all work can start on the first day; a visit that a day's
 * minutes cannot finish goes on the next working day (the unit stays overnight). Visits that use a planned visit have
 * that day first, by due date, as far as its minutes go; the others, and those for which it was full, share what is
 * left. Under this model the plan meets every date if any plan does, and otherwise misses as few as possible
 * (`fewestLate`). Where whole visits on whole days reach the same, nobody stays overnight. A visit that is late anyway
 * is done as soon as no other is made late by it; a date that had passed before the first day is late in any plan.
 *
 * Units: minutes and day numbers. Order of the input does not matter. Errors: none; a yard without bench time within
 * ten years leaves its visits `unplaced`.
 */
export function planBench(visits: readonly Visit[], capacity: Capacity, firstDay: DayNumber): BenchPlan {
  const byYard = new Map<number | null, Visit[]>()
  for (const visit of visits) {
    const same = byYard.get(visit.yardId)
    if (same) same.push(visit)
    else byYard.set(visit.yardId, [visit])
  }
  const placed: BenchVisit[] = []
  const unplaced: Visit[] = []
  for (const [yardId, work] of [...byYard].sort(
    ([p], [q]) => (p ?? Number.POSITIVE_INFINITY) - (q ?? Number.POSITIVE_INFINITY),
  )) {
    const yard = planYard(work, (ahead) => capacity(yardId, firstDay + ahead), firstDay)
    placed.push(...yard.placed.sort((p, q) => p.day - q.day || p.untilDay - q.untilDay || byDue(p, q)))
    unplaced.push(...yard.unplaced)
  }
  return {
    visits: placed,
    late: placed.filter(({ lateDays }) => lateDays > 0).sort((p, q) => q.lateDays - p.lateDays || byDue(p, q)),
    unplaced,
  }
}

/** What the plan cannot meet, in one sentence; undefined for a visit in time. */
export function lateSentence({ unit, dueDay, untilDay, lateBecause }: BenchVisit): string | undefined {
  if (lateBecause === null) return undefined
  const [due, done] = [dayOfNumber(dueDay), dayOfNumber(untilDay)]
  return lateBecause === 'date already past'
    ? `Unit ${unit} was due on ${due}; the first room on the bench is ${done}.`
    : `Unit ${unit} is due on ${due}, but the yard’s bench is full until ${done}.`
}
