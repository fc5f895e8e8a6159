import type { DayNumber, Visit } from '#core/bench/visits.ts'
import { fewestLate } from '#core/cells/outlook.ts'
import type { Benches, YardBench } from '#core/bench/yard-bench.ts'
import { dayOfNumber } from '#core/words/day.ts'
import { at } from '#core/words/lists.ts'
import { phrase } from '#core/words/phrase.ts'

/** A yard that has no room for a visit within so many days has none. */
const farthestDays = 3660

/** A visit with its place in the plan. */
export interface BenchVisit extends Visit {
  /** Day on which it starts. */
  readonly day: DayNumber
  /** Day on which it is done; later than `day` when the unit stays overnight. */
  readonly untilDay: DayNumber
  /** How much of each day's room it takes, in what its yard's bench counts. */
  readonly parts: readonly { readonly day: DayNumber; readonly size: number }[]
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

/** Room still free on each day of one yard, looked up as far ahead as needed. */
class Room {
  readonly #left: number[] = []
  readonly #roomOn: (ahead: number) => number

  constructor(roomOn: (ahead: number) => number) {
    this.#roomOn = roomOn
  }

  left(ahead: number): number {
    for (let i = this.#left.length; i <= ahead; i += 1) this.#left.push(this.#roomOn(i))
    return at(this.#left, ahead)
  }

  take(ahead: number, size: number): void {
    this.#left[ahead] = this.left(ahead) - size
  }

  copy(): Room {
    const copy = new Room(this.#roomOn)
    copy.#left.push(...this.#left)
    return copy
  }
}

type Parts = { day: number; size: number }[]
/** A visit with how much of its bench's room it takes. */
type Sized = { readonly visit: Visit; readonly size: number }

/**
 * Each visit whole on the first day with room for it; undefined when one that could be in time is not, or none has
 * room.
 */
function placeWhole(
  visits: readonly Sized[],
  late: ReadonlySet<number>,
  room: Room,
  firstDay: DayNumber,
): Parts[] | undefined {
  const least = visits.reduce((fewest, { size }) => Math.min(fewest, size), Number.POSITIVE_INFINITY)
  const placed: Parts[] = []
  let open = 0
  for (const [i, { visit, size }] of visits.entries()) {
    while (open < farthestDays && room.left(open) < least) open += 1
    let ahead = open
    while (ahead < farthestDays && room.left(ahead) < size) ahead += 1
    if (ahead === farthestDays || (!late.has(i) && firstDay + ahead > visit.dueDay)) return undefined
    room.take(ahead, size)
    placed.push([{ day: firstDay + ahead, size }])
  }
  return placed
}

/**
 * One visit after the other through the days' room; what a day cannot finish goes on the next. Empty parts: no room
 * at all.
 */
function placeInTurn(visits: readonly Sized[], room: Room, firstDay: DayNumber): Parts[] {
  let ahead = 0
  return visits.map(({ size }) => {
    const parts: Parts = []
    for (let wanted = size; wanted > 0; ) {
      while (ahead < farthestDays && room.left(ahead) <= 0) ahead += 1
      if (ahead === farthestDays) return []
      const taken = Math.min(wanted, room.left(ahead))
      room.take(ahead, taken)
      parts.push({ day: firstDay + ahead, size: taken })
      wanted -= taken
    }
    return parts
  })
}

function planYard(
  visits: readonly Visit[],
  { roomOn, sizeOf }: YardBench,
  firstDay: DayNumber,
): { placed: BenchVisit[]; unplaced: Visit[] } {
  const room = new Room((ahead) => roomOn(firstDay + ahead))
  const placed: BenchVisit[] = []
  const unplaced: Visit[] = []
  const bumped = new Map<Visit, DayNumber>()
  const planned = visits
    .flatMap((visit) => (visit.plannedDay === null ? [] : { visit, day: visit.plannedDay }))
    .sort((p, q) => p.day - q.day || byDue(p.visit, q.visit))
  for (const { visit, day } of planned) {
    const size = sizeOf(visit)
    if (size <= room.left(day - firstDay)) {
      room.take(day - firstDay, size)
      placed.push(place(visit, [{ day, size }], firstDay, null))
    } else bumped.set(visit, day)
  }

  const open = visits
    .filter((visit) => visit.plannedDay === null || bumped.has(visit))
    .sort(byDue)
    .map((visit): Sized => ({ visit, size: sizeOf(visit) }))
  // The bench's room in one line: a due day is the free room up to its end.
  const jobs: { minutes: number; deadline: number }[] = []
  let through = 0
  let passed = 0
  for (const { visit, size } of open) {
    const { dueDay } = visit
    for (; passed <= Math.min(dueDay - firstDay, farthestDays - 1); passed += 1) through += room.left(passed)
    jobs.push({ minutes: size, deadline: dueDay < firstDay ? 0 : through })
  }
  const { order, late } = fewestLate(jobs)
  const inOrder = order.map((job) => at(open, job))
  const lateAt = new Set(order.flatMap((job, at) => (late.has(job) ? [at] : [])))
  const parts = placeWhole(inOrder, lateAt, room.copy(), firstDay) ?? placeInTurn(inOrder, room, firstDay)
  inOrder.forEach(({ visit }, i) => {
    const taken = at(parts, i)
    if (taken.length === 0) unplaced.push(visit)
    else placed.push(place(visit, taken, firstDay, bumped.get(visit) ?? null))
  })
  return { placed, unplaced }
}

/**
 * Places visits on days, yard by yard, within the room of the yards' benches: minutes, or jobs where a yard counts
 * those.
 *
 * The model: a yard's bench does one visit after another; all work can start on the first day; a visit that a day's
 * room cannot finish goes on the next working day (the unit stays overnight). Visits that use a planned visit have
 * that day first, by due date, as far as its room goes; the others, and those for which it was full, share what is
 * left. Under this model the plan meets every date if any plan does, and otherwise misses as few as possible
 * (`fewestLate`). Where whole visits on whole days reach the same, nobody stays overnight. A visit that is late anyway
 * is done as soon as no other is made late by it; a date that had passed before the first day is late in any plan.
 *
 * Order of the input does not matter. Errors: none; a yard without bench time within
 * ten years leaves its visits `unplaced`.
 */
export function planBench(visits: readonly Visit[], benches: Benches, firstDay: DayNumber): BenchPlan {
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
    const yard = planYard(work, benches(yardId), firstDay)
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
    ? phrase('Unit {unit} was due on {due}; the first room on the bench is {done}.', { unit, due, done })
    : phrase('Unit {unit} is due on {due}, but the yard’s bench is full until {done}.', { unit, due, done })
}
