import { phrase } from '#core/words/phrase.ts'

const isoInstant =
  /^(\d{4})-(\d{2})-(\d{2})[Tt ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?(Z|z|[+-]\d{2}(?::?\d{2})?)$/
const daysInMonth = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]

/** 24 hours in ms: a length of time. Calendar days, which may have another, are `LocalDay`'s. */
export const dayMs = 86_400_000

/** What a time field accepts, in words for an error sentence. */
export const acceptedInstant = (): string =>
  phrase('a date and time with its offset, such as 2026-03-01T14:30:00-06:00 or 2026-03-01T20:30:00Z')

/**
 * Milliseconds since 1970-01-01T00:00:00Z of an ISO 8601 date and time that carries its offset or Z, or
 * undefined when the text is not one, names a day that does not exist, or lies outside the years 1900 to 2199.
 */
export function parseInstant(text: string): number | undefined {
  const match = isoInstant.exec(text)
  if (!match) return undefined
  const year = Number(match[1])
  const month = Number(match[2])
  const day = Number(match[3])
  const hour = Number(match[4])
  const minute = Number(match[5])
  const second = match[6] === undefined ? 0 : Number(match[6])
  if (year < 1900 || year > 2199 || month < 1 || month > 12) return undefined
  const leap = month === 2 && year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 1 : 0
  if (day < 1 || day > (daysInMonth[month - 1] ?? 0) + leap) return undefined
  if (hour > 23 || minute > 59 || second > 59) return undefined
  const ms = match[7] === undefined ? 0 : Math.round(Number(`0.${match[7]}`) * 1000)
  const zone = match[8] ?? 'Z'
  let offsetMinutes = 0
  if (zone !== 'Z' && zone !== 'z') {
    const hours = Number(zone.slice(1, 3))
    const minutes = zone.length > 3 ? Number(zone.slice(-2)) : 0
    if (hours > 14 || minutes > 59) return undefined
    offsetMinutes = (zone[0] === '-' ? -1 : 1) * (hours * 60 + minutes)
  }
  return Date.UTC(year, month - 1, day, hour, minute, second, ms) - offsetMinutes * 60_000
}

/** The same of a text that was accepted before; another is a programmer's mistake. Errors: RangeError. */
export function typedInstantMs(text: string): number {
  const ms = parseInstant(text)
  if (ms === undefined) throw new RangeError(`${text} is not ${acceptedInstant()}`)
  return ms
}

/** A clock may run so far ahead of the one that saves, ms. */
export const clockSlackMs = 10 * 60_000

/** Whether a time that was typed as past lies ahead, by more than two clocks differ; both ms UTC. */
export const liesAhead = (at: number, now: number): boolean => at > now + clockSlackMs

/** The stored form of a time: UTC with milliseconds, so that text order is time order. */
export const toStoredInstant = (ms: number): string => new Date(ms).toISOString()

/** Stored time as milliseconds; the text comes from the store, so a bad one is a programmer's mistake. */
export function fromStoredInstant(text: string): number {
  const ms = Date.parse(text)
  if (Number.isNaN(ms)) throw new RangeError(`stored time ${text} is not a time`)
  return ms
}

/** The instant so many times 24 hours after another, ms UTC. */
export const laterBy = (ms: number, days: number): number => ms + days * dayMs
