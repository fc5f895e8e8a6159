import { type LocalDay, parseDay, weekday } from '#core/words/day.ts'
import { phrase } from '#core/words/phrase.ts'
import { namesOfDays } from '#core/words/numbers.ts'

/**
 * The days on which a yard's bench works and those on which it is closed, as people type them and as they are stored:
 * one text each, always written alike, so that two people who mean the same store the same.
 */
const weekdays = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const
const fullNames = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'] as const
const mostHolidays = 200

export const acceptedWeekdays = (): string => phrase('days of the week such as Mon-Fri or Mon Wed Sat')
export const acceptedHolidays = (): string =>
  phrase('up to {mostHolidays} days such as 2026-11-26, or 12-25 for every year', {
    mostHolidays,
  })

const parts = (text: string): string[] => text.split(/[\s,;]+/).filter(Boolean)

/** 0 for Monday to 6 for Sunday; undefined for any other word. */
function weekdayOf(word: string): number | undefined {
  const place = word.length < 3 ? -1 : fullNames.findIndex((name) => name.startsWith(word.toLowerCase()))
  return place < 0 ? undefined : place
}

/**
 * Days of the week as they are stored, such as `Mon Tue Wed Thu Fri`; undefined where the text names none. `Fri-Mon`
 * runs over the weekend.
 */
export function readWeekdays(text: string): string | undefined {
  const named = new Set<number>()
  for (const part of parts(text.replaceAll(/\s*[-–]\s*/g, '-'))) {
    const [from = '', to = from, ...more] = part.split('-')
    const [first, last] = [weekdayOf(from), weekdayOf(to)]
    if (first === undefined || last === undefined || more.length > 0) return undefined
    for (let day = first; ; day = (day + 1) % 7) {
      named.add(day)
      if (day === last) break
    }
  }
  return named.size === 0 ? undefined : weekdays.filter((_, place) => named.has(place)).join(' ')
}

/** The days of a stored text, 1 for Monday to 7 for Sunday. */
export const weekdaysIn = (stored: string): ReadonlySet<number> =>
  new Set(stored.split(' ').map((name) => weekdays.indexOf(name as (typeof weekdays)[number]) + 1))

/** A leap year, so that 29 February can be a day of every year that has one. */
const yearly = (text: string): boolean => /^\d{2}-\d{2}$/.test(text) && parseDay(`2024-${text}`) !== undefined

/** Holidays as they are stored, in order: `12-25, 2026-11-26`; undefined where one is no day. */
export function readHolidays(text: string): string | undefined {
  const days = new Set(parts(text))
  if (days.size === 0 || days.size > mostHolidays) return undefined
  for (const day of days) if (!yearly(day) && parseDay(day) === undefined) return undefined
  return [...days].sort((p, q) => p.length - q.length || (p < q ? -1 : 1)).join(', ')
}

/** Whether a day is among the holidays of a stored text. */
export function holidaysIn(stored: string): (day: LocalDay) => boolean {
  const days = new Set(stored.split(', '))
  return (day) => days.has(day) || days.has(day.slice(5))
}

/** When a yard's bench works: its own days where they are typed, else the House Rules'. */
export interface YardDays {
  /** As `readWeekdays` stores them; null: the House Rules'. */
  readonly workingDays: string | null
  /** As `readHolidays` stores them; null: none. */
  readonly holidays: string | null
  /** Pieces of work that its bench does on a working day; null: the House Rules' bench minutes. */
  readonly jobsPerDay: number | null
}

/** Why a bench is closed on a day. */
export const closedReasons = ['holiday', 'no working day'] as const
export type Closed = (typeof closedReasons)[number]

/** Says of each day whether a bench works, or why it does not. firstDays: House Rules' days a week from Monday. */
export function closedOn(
  { workingDays, holidays }: Pick<YardDays, 'workingDays' | 'holidays'>,
  firstDays: number,
): (day: LocalDay) => Closed | null {
  const works = workingDays === null ? null : weekdaysIn(workingDays)
  const isHoliday = holidays === null ? () => false : holidaysIn(holidays)
  return (day) => {
    const place = weekday(day)
    if (works === null ? place > firstDays : !works.has(place)) return 'no working day'
    return isHoliday(day) ? 'holiday' : null
  }
}

const nameOf = namesOfDays({ weekday: 'long' })
/** `Monday` */
export const weekdayName = (day: string): string => nameOf(Date.parse(day))
