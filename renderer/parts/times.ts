import {
  type LocalDay,
  type LocalTime,
  dayOf,
  daysBetween,
  localTimeOf,
  readLocalTime,
  storedDay,
} from '#core/words/day.ts'
import { parseInstant } from '#core/words/instant.ts'
import { readTypedTime, sayEitherTime } from '#core/words/typed-time.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

const nbsp = '\u00a0'

/** What a field for a date and a time accepts, in words. */
const acceptedTime = phrase('a date and time such as 2026-03-01 14:30, 11/24 2:30 pm or yesterday 14:30')

/**
 * The text of such a field, as typed or as the fleet's clocks show it, 2026-03-01T14:30. In the hour that comes twice
 * the offset stands behind it, 2026-11-01T01:30-06:00, once somebody has said which of the two is meant.
 */
export type TimeText = string

/** How a window writes and reads times: in the zone in which the fleet counts its days, not in the computer's. */
export interface Times {
  readonly zone: string
  /** The day of a stored time. */
  day(instant: string): LocalDay
  /** The day on the page's clock. */
  today(): LocalDay
  /** A stored time with its zone named: 2026-03-01 14:30 CST. */
  moment(instant: string): string
  /** The abbreviation of the zone at a time (ms UTC), such as CST. */
  zoneAt(ms: number): string
  /** Calendar days from one stored time to a later one. */
  daysFrom(instant: string, asOf: string): number
  /** A day as a phrase around the day of a stored time: `in 12 d`, `today`, `3 d ago`. */
  away(day: string, asOf: string): string
  /** A stored time as the text of a field. */
  typed(instant: string): TimeText
  /** When the clocks show what a field says, whichever of two is chosen; undefined: it says no time. */
  clock(text: TimeText): LocalTime | undefined
  /** The time that a field says, as it is stored; or the sentence for the field. */
  read(text: TimeText): { readonly ok: true; readonly value: string } | { readonly ok: false; readonly message: string }
}

const stored = (ms: number) => new Date(ms).toISOString()

/** Where the clocks show a time twice, the text that means this one of the two. */
export function withOffset(ms: number, zone: string): TimeText {
  const shown = localTimeOf(ms, zone)
  // What is shown has lost its seconds, which belong to no offset.
  const minutes = Math.ceil((Date.parse(`${shown}Z`) - ms) / 60_000)
  const digits = (value: number) => String(Math.floor(value)).padStart(2, '0')
  return `${shown}${minutes < 0 ? '-' : '+'}${digits(Math.abs(minutes) / 60)}:${digits(Math.abs(minutes) % 60)}`
}

/** What the clocks show, without the choice between two. */
export const clockText = (text: TimeText): string => text.slice(0, 16)

export function timesIn(zone: string): Times {
  const zoneName = new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'short' })
  const day = (instant: string) => dayOf(Date.parse(instant), zone)
  const zoneAt = (ms: number) => zoneName.formatToParts(ms).find(({ type }) => type === 'timeZoneName')?.value ?? zone
  const today = () => dayOf(Date.now(), zone)
  /** What the clocks show, whichever way it is typed. */
  const shownBy = (text: TimeText) => {
    const typed = readTypedTime(text, today())
    return typeof typed === 'string' ? typed : clockText(text)
  }
  const clock = (text: TimeText) => readLocalTime(shownBy(text), zone)
  return {
    zone,
    day,
    zoneAt,
    clock,
    today,
    moment: (instant) => {
      const ms = Date.parse(instant)
      return `${localTimeOf(ms, zone).replace('T', ' ')}${nbsp}${zoneAt(ms)}`
    },
    daysFrom: (instant, asOf) => daysBetween(day(instant), day(asOf)),
    away: (on, asOf) => {
      const days = daysBetween(day(asOf), storedDay(on))
      if (days === 0) return phrase('today')
      const shown = figures()(Math.abs(days))
      return days > 0 ? phrase('in {shown}\u00a0d', { shown }) : phrase('{shown}\u00a0d ago', { shown })
    },
    typed: (instant) => {
      const ms = Date.parse(instant)
      const shown = localTimeOf(ms, zone)
      return readLocalTime(shown, zone)?.occurs === 'twice' ? withOffset(ms, zone) : shown
    },
    read: (text) => {
      const refuse = (message: string) => ({ ok: false, message }) as const
      const typed = readTypedTime(text, today())
      if (typeof typed === 'object') return refuse(`${sayEitherTime(text, typed)}.`)
      const time = clock(text)
      if (time === undefined)
        return refuse(
          phrase('“{text}” is not a date and time; {acceptedTime} is accepted.', {
            text,
            acceptedTime,
          }),
        )
      const shown = shownBy(text).replace('T', ' ')
      if (time.occurs === 'once') return { ok: true, value: stored(time.at) }
      if (time.occurs === 'never')
        return refuse(
          phrase('{shown} is left out by the clocks that day, which go forward; a time before or after is accepted.', {
            shown,
          }),
        )
      const chosen = parseInstant(text)
      return chosen === time.first || chosen === time.second
        ? { ok: true, value: stored(chosen) }
        : refuse(phrase('{shown} comes twice that night: choose the first or the second.', { shown }))
    },
  }
}
