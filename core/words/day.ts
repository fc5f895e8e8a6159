import { Temporal } from 'temporal-polyfill'
import { dayMs, parseInstant } from '#core/words/instant.ts'
import { phrase } from '#core/words/phrase.ts'

declare const localDay: unique symbol

/**
 * A calendar day as a fleet counts it, YYYY-MM-DD in its own time zone (House Rules): text order is day order. It is
 * never an instant: the same moment lies in different days of different zones, so the way from one to the other
 * always names the zone.
 *
 * The calendar is the proleptic Gregorian one and zones are those of the IANA time zone database, both as
 * TC39's Temporal proposal has them. This is the one module that knows Temporal.
 */
export type LocalDay = string & { readonly [localDay]: true }

const written = /^\d{4}-\d{2}-\d{2}$/

/** A day in words, for an error sentence. */
export const acceptedDay = (): string => phrase('a day such as 2026-03-01')

const plain = (day: LocalDay) => Temporal.PlainDate.from(day)

/** The day that a text writes as YYYY-MM-DD, in the years 1900 to 2199; undefined where it writes none. */
export function parseDay(text: string): LocalDay | undefined {
  if (!written.test(text)) return undefined
  const [year = 0, month = 0, day = 0] = text.split('-').map(Number)
  if (year < 1900 || year > 2199 || month < 1 || month > 12 || day < 1) return undefined
  return day <= Temporal.PlainDate.from({ year, month, day: 1 }).daysInMonth ? (text as LocalDay) : undefined
}

/** A day that this program wrote, into the store or an answer: a text that is none is a programmer's mistake. */
export function storedDay(text: string): LocalDay {
  const day = parseDay(text)
  if (day === undefined) throw new RangeError(`stored day ${text} is not a day`)
  return day
}

/** A reckoned time may be a fraction of a millisecond, which no clock shows. */
const zoned = (ms: number, zone: string) =>
  Temporal.Instant.fromEpochMilliseconds(Math.floor(ms)).toZonedDateTimeISO(zone)

/** Whether a text is the name of a zone in the IANA time zone database, such as America/Denver. */
export function isZone(text: string): boolean {
  // A bare offset is a zone for Temporal, but one whose days never follow the seasons.
  if (!/^[A-Za-z]/.test(text)) return false
  try {
    zoned(0, text)
    return true
  } catch (error) {
    if (error instanceof RangeError) return false
    throw error
  }
}

/** Days of sixty years. */
const mostKept = 22_000

/** A figure that follows from the number of a day and a zone, worked out once: a fleet asks it for every line. */
function keptByDay(figure: (day: number, zone: string) => number): typeof figure {
  const zones = new Map<string, Map<number, number>>()
  return (day, zone) => {
    let kept = zones.get(zone)
    if (kept === undefined || kept.size > mostKept) {
      kept = new Map()
      zones.set(zone, kept)
    }
    let value = kept.get(day)
    if (value === undefined) {
      value = figure(day, zone)
      kept.set(day, value)
    }
    return value
  }
}

const offsetAt = (ms: number, zone: string): number => zoned(ms, zone).offsetNanoseconds / 1e6

/** How far the clocks of a zone are ahead of UTC through all of a day of UTC, ms; NaN where they change in it. */
const offsetThrough = keptByDay((utcDay, zone) => {
  const offset = offsetAt(utcDay * dayMs, zone)
  return offset === offsetAt((utcDay + 1) * dayMs, zone) ? offset : Number.NaN
})

/** The day in a zone at an instant (ms UTC). */
export function dayOf(ms: number, zone: string): LocalDay {
  const at = Math.floor(ms)
  const offset = offsetThrough(Math.floor(at / dayMs), zone)
  return dayOfNumber(Math.floor((at + (Number.isNaN(offset) ? offsetAt(at, zone) : offset)) / dayMs))
}

/** What the clocks of a zone show at an instant (ms UTC), as a field for a date and a time has it: YYYY-MM-DDTHH:MM. */
export const localTimeOf = (ms: number, zone: string): string =>
  zoned(ms, zone).toPlainDateTime().toString({ smallestUnit: 'minute' })

const startOfNumber = keptByDay((day, zone) => plain(dayOfNumber(day)).toZonedDateTime(zone).epochMilliseconds)

/** The first instant of a day in a zone, ms UTC: its midnight, or where clocks leave that out the first time after. */
export const startOfDay = (day: LocalDay, zone: string): number => startOfNumber(dayNumber(day), zone)

/** The last millisecond of a day in a zone, ms UTC. A day has 23 to 25 hours where clocks are changed. */
export const endOfDay = (day: LocalDay, zone: string): number => startOfDay(addDays(day, 1), zone) - 1

/**
 * The last millisecond that counts as known at `text`: a day means its end in the zone, a full time means itself.
 * Undefined when the text is neither.
 */
export function readAsOf(text: string, zone: string): number | undefined {
  const day = parseDay(text)
  return day === undefined ? parseInstant(text) : endOfDay(day, zone)
}

/** Noon of a day in a zone, ms UTC: for what is known to the day only. */
export const noonOf = (day: LocalDay, zone: string): number =>
  plain(day).toZonedDateTime({ timeZone: zone, plainTime: '12:00' }).epochMilliseconds

/** The number of a day, counted from 1970-01-01 as 0: for plans that reckon with many days. */
export const dayNumber = (day: LocalDay): number => Date.parse(day) / dayMs

/** Texts of days: a fleet asks for the same few hundred again and again. */
const texts = new Map<number, LocalDay>()

/** The day of a number. Errors: RangeError where no calendar reaches. */
export function dayOfNumber(number: number): LocalDay {
  const known = texts.get(number)
  if (known !== undefined) return known
  const text = new Date(number * dayMs).toISOString()
  const day = text.slice(0, text.indexOf('T')) as LocalDay
  if (texts.size >= mostKept) texts.clear()
  texts.set(number, day)
  return day
}

/** The day so many days later, earlier where n is negative; a part of a day does not count. */
export const addDays = (day: LocalDay, n: number): LocalDay => dayOfNumber(dayNumber(day) + Math.floor(n))

/** Days from one day to another; negative where the other is earlier. */
export const daysBetween = (from: LocalDay, to: LocalDay): number => dayNumber(to) - dayNumber(from)

/** The month of a day, YYYY-MM. */
export const monthOf = (day: LocalDay): LocalMonth => day.slice(0, 7) as LocalMonth

declare const localMonth: unique symbol
/** A month of the calendar, YYYY-MM: text order is the order of time. */
export type LocalMonth = string & { readonly [localMonth]: true }

/** The month that a text writes as YYYY-MM, in the years 1900 to 2199; undefined where it writes none. */
export const parseMonth = (text: string): LocalMonth | undefined =>
  parseDay(`${text}-01`) === undefined ? undefined : (text as LocalMonth)

/** The month so many months later, earlier where n is negative. */
export const addMonths = (month: LocalMonth, n: number): LocalMonth =>
  Temporal.PlainYearMonth.from(month).add({ months: n }).toString() as LocalMonth

/** The first and the last day of a month. */
export const daysOfMonth = (month: LocalMonth): { readonly from: LocalDay; readonly to: LocalDay } => ({
  from: `${month}-01` as LocalDay,
  to: addDays(`${addMonths(month, 1)}-01` as LocalDay, -1),
})

/** The day of the week, 1 for Monday to 7 for Sunday (ISO 8601). */
export const weekday = (day: LocalDay): number => plain(day).dayOfWeek

/**
 * When a zone's clocks show a time: once; twice in the hour that is repeated when they are set back; never in the hour
 * that is left out when they are set forward. Instants are ms UTC.
 */
export type LocalTime =
  | { readonly occurs: 'once'; readonly at: number }
  | { readonly occurs: 'twice'; readonly first: number; readonly second: number }
  | { readonly occurs: 'never' }

function occurrence(wall: Temporal.PlainDateTime, zone: string): LocalTime {
  const first = wall.toZonedDateTime(zone, { disambiguation: 'earlier' })
  const second = wall.toZonedDateTime(zone, { disambiguation: 'later' })
  if (first.epochMilliseconds === second.epochMilliseconds) return { occurs: 'once', at: first.epochMilliseconds }
  return first.toPlainDateTime().equals(wall)
    ? { occurs: 'twice', first: first.epochMilliseconds, second: second.epochMilliseconds }
    : { occurs: 'never' }
}

/**
 * Reads a time as clocks in a zone show it, YYYY-MM-DDTHH:MM, seconds behind it allowed; undefined where the text is
 * none.
 */
export function readLocalTime(text: string, zone: string): LocalTime | undefined {
  const match = /^(\d{4}-\d{2}-\d{2})[T ]([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d{1,3})?)?$/.exec(text)
  if (!match || parseDay(match[1] ?? '') === undefined) return undefined
  return occurrence(Temporal.PlainDateTime.from(text), zone)
}

/** The same for a date and a time that are given as if they were of UTC, ms. */
export const localTimeAt = (wallMs: number, zone: string): LocalTime =>
  occurrence(zoned(wallMs, 'UTC').toPlainDateTime(), zone)
