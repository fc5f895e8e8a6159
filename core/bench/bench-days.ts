import type { DayNumber } from '#core/bench/visits.ts'
import { type Benches, nextBenchDay } from '#core/bench/yard-bench.ts'
import { type LocalDay, addDays, dayOfNumber, storedDay, weekday } from '#core/words/day.ts'
import { type Closed, weekdayName } from '#core/words/work-days.ts'
import { phrase } from '#core/words/phrase.ts'

/** Whether a yard's bench works today, and when it does next. Days YYYY-MM-DD. */
export interface BenchDay {
  /** null: units without a yard. */
  readonly yard: string | null
  /** Why it is closed today; null: it works. */
  readonly closed: Closed | null
  /** Its next bench day, today where it works; null: none for over a year. */
  readonly next: string | null
}

/** The bench of every yard, by its name, and the one of units without a yard, as they stand on a day. */
export const benchDaysOn = (benches: Benches, yards: ReadonlyMap<number, string>, today: DayNumber): BenchDay[] =>
  [...yards, [null, null] as const].map(([yardId, yard]) => {
    const bench = benches(yardId)
    const next = nextBenchDay(bench, today)
    return { yard, closed: bench.closedOn(today), next: next === null ? null : dayOfNumber(next) }
  })

/** When a visit starts: on its bench's next day, which is today where it works; in the rest of that week; or later. */
export const visitTimes = ['today', 'this week', 'later'] as const
export type VisitTime = (typeof visitTimes)[number]

/** The Sunday that ends a day's week. */
export const sundayOf = (day: LocalDay): LocalDay => addDays(day, 7 - weekday(day))

/** When a visit on a day starts, seen from its bench's next day (null: there is none). */
export function visitTimeOf(day: LocalDay, next: LocalDay | null): VisitTime {
  if (next === null) return 'later'
  return day <= next ? 'today' : day <= sundayOf(next) ? 'this week' : 'later'
}

/** When a span of time is, in words: benches that are closed today are asked about their next bench day. */
export function spanName(span: 'today' | 'this week', days: readonly BenchDay[], today: LocalDay): string {
  const open = days.filter(({ closed }) => closed === null)
  if (span === 'today') return open.length > 0 || days.length === 0 ? phrase('today') : phrase('on the next bench day')
  const nexts = days.flatMap(({ next }) => (next === null ? [] : storedDay(next)))
  if (nexts.length === 0 || nexts.some((next) => next <= sundayOf(today))) return phrase('this week')
  return nexts.some((next) => next <= addDays(sundayOf(today), 7))
    ? phrase('next week')
    : phrase('in the next bench week')
}

/** `Monday, 2026-11-30` */
export const dayWords = (day: string): string => `${weekdayName(day)}, ${day}`

/** The benches that are closed today, in a sentence for those that are alike; none where all work. */
export function closedSentences(days: readonly BenchDay[], today: LocalDay): string[] {
  const alike = Map.groupBy(
    days.filter(({ closed }) => closed !== null),
    ({ closed, next }) => `${closed} ${next}`,
  )
  return [...alike.values()].map((same) => {
    const [{ closed, next } = { closed: null, next: null }] = same
    const who = same.length === days.length ? '' : `${same.map(({ yard }) => yard ?? phrase('No yard')).join(', ')}: `
    const why = closed === 'holiday' ? phrase('a holiday') : weekdayName(today)
    const then =
      next === null ? phrase('no bench day within a year') : phrase('next bench day {next}', { next: dayWords(next) })
    return phrase('{who}{who2} today ({why}); {then}.', {
      who,
      who2: who === '' ? phrase('Closed') : 'closed',
      why,
      then,
    })
  })
}
