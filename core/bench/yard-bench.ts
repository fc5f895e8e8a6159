import type { DayNumber, Visit } from '#core/bench/visits.ts'
import { dayOfNumber } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Closed, type YardDays, closedOn } from '#core/words/work-days.ts'

/** What a bench's room is counted in. */
export const benchCounts = ['minutes', 'jobs'] as const
export type BenchCount = (typeof benchCounts)[number]

/** How much a yard's bench does on a day, and how much of that a visit takes: both in minutes, or both in jobs. */
export interface YardBench {
  readonly counts: BenchCount
  /** 0 where it is closed. */
  readonly roomOn: (day: DayNumber) => number
  /** More than 0. */
  readonly sizeOf: (visit: Pick<Visit, 'minutes' | 'items'>) => number
  readonly closedOn: (day: DayNumber) => Closed | null
}

/** The bench of each yard; of null: the one that units without a yard share. */
export type Benches = (yardId: number | null) => YardBench

const houseRules: YardDays = { workingDays: null, holidays: null, jobsPerDay: null }

function benchOf(own: YardDays, rules: HouseRules): YardBench {
  const closed = closedOn(own, rules.benchDaysPerWeek)
  const onDay = (day: DayNumber) => closed(dayOfNumber(day))
  const room = own.jobsPerDay ?? rules.benchMinutesPerDay
  return {
    counts: own.jobsPerDay === null ? 'minutes' : 'jobs',
    roomOn: (day) => (onDay(day) === null ? room : 0),
    sizeOf: own.jobsPerDay === null ? ({ minutes }) => minutes : ({ items }) => items.length,
    closedOn: onDay,
  }
}

/**
 * The benches of a fleet: a yard's own working days, holidays and jobs a day where they are typed, else the House
 * Rules' (the first `benchDaysPerWeek` days of a week from Monday, `benchMinutesPerDay` each).
 */
export function yardBenches(own: ReadonlyMap<number, YardDays>, rules: HouseRules): Benches {
  const known = new Map<number | null, YardBench>()
  return (yardId) => {
    const bench = known.get(yardId) ?? benchOf((yardId === null ? undefined : own.get(yardId)) ?? houseRules, rules)
    known.set(yardId, bench)
    return bench
  }
}

/** A bench that is closed for so long has no next day. */
const farthestDays = 400

/** The first day from one on, itself included, on which a bench works; null: none within 400 days. */
export function nextBenchDay({ closedOn: closed }: Pick<YardBench, 'closedOn'>, from: DayNumber): DayNumber | null {
  for (let day = from; day < from + farthestDays; day += 1) if (closed(day) === null) return day
  return null
}
