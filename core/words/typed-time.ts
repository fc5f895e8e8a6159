import { phrase, speech } from '#core/words/phrase.ts'
import { remember } from '#core/words/remember.ts'
import { type LocalDay, addDays, parseDay } from '#core/words/day.ts'

const isoDay = /^(\d{4})-(\d{1,2})-(\d{1,2})$/
const twoOrThree = /^(\d{1,2})[/-](\d{1,2})(?:[/-](\d{2}|\d{4}))?$/
const clock = /^(\d{1,2})(?:[:.]?([0-5]\d))?(?::[0-5]\d)?\s*(a|p|am|pm|a\.m\.|p\.m\.)?$/i

const two = (text: string | number) => String(text).padStart(2, '0')

/** A word of the program's language or of English, typed with either apostrophe. */
const isWord = (typed: string, ...words: readonly string[]): boolean =>
  words.some((word) => word.replace('’', "'") === typed.replace('’', "'"))

/**
 * Whether whoever is spoken to writes the month first, as in the US. Elsewhere nobody can tell: such a date may be
 * written the way of the country, or the way of the trade.
 */
const isMonthFirst = remember<boolean>(100)
const writesMonthFirst = (locale: string): boolean =>
  isMonthFirst(locale, () => {
    const parts = new Intl.DateTimeFormat(locale, { year: 'numeric', month: 'numeric', day: 'numeric' }).formatToParts(
      0,
    )
    return parts[0]?.type === 'month'
  })

function dayOfYear(month: string, day: string, year: string | undefined, today: LocalDay): LocalDay | undefined {
  if (year !== undefined) return parseDay(`${year.length === 2 ? `20${year}` : year}-${two(month)}-${two(day)}`)
  const ofThisYear = parseDay(`${today.slice(0, 4)}-${two(month)}-${two(day)}`)
  // Without a year the last such day is meant: in January, 12/30 is last year's.
  return ofThisYear === undefined || ofThisYear <= today
    ? ofThisYear
    : parseDay(`${Number(today.slice(0, 4)) - 1}-${two(month)}-${two(day)}`)
}

/** The days that a text can mean, one in most cases. */
function readDays(text: string, today: LocalDay): readonly LocalDay[] {
  if (text === '' || isWord(text, 'today', phrase('today'))) return [today]
  if (isWord(text, 'yesterday', phrase('yesterday'))) return [addDays(today, -1)]
  const [, isoYear, isoMonth = '', isoOf = ''] = isoDay.exec(text) ?? []
  if (isoYear !== undefined) return [parseDay(`${isoYear}-${two(isoMonth)}-${two(isoOf)}`) ?? []].flat()
  const [, first, second = '', year] = twoOrThree.exec(text) ?? []
  if (first === undefined) return []
  const orders = writesMonthFirst(speech().locale)
    ? [[first, second] as const]
    : [[first, second] as const, [second, first] as const]
  return [...new Set(orders.flatMap(([month, day]) => dayOfYear(month, day, year, today) ?? []))]
}

function readClock(text: string): string | undefined {
  const [, hourText, minutes, half] = clock.exec(text) ?? []
  if (hourText === undefined || (minutes === undefined && half === undefined)) return undefined
  const hour = Number(hourText)
  if (half === undefined) return hour <= 23 ? `${two(hour)}:${minutes}` : undefined
  if (hour < 1 || hour > 12) return undefined
  return `${two((hour % 12) + (half.toLowerCase().startsWith('p') ? 12 : 0))}:${minutes ?? '00'}`
}

/** A typed time; the times that can be meant by one that can be read in two ways; undefined for a text that is none. */
export type TypedTime = string | { readonly either: readonly [string, string] } | undefined

/**
 * A date and a time as people type them, as YYYY-MM-DDTHH:MM: `11/24 2:30 pm`, `11/24/26 1430`, `yesterday 14:30`,
 * `14:30` of today. The month stands first where the locale of whoever is spoken to has it so, as in the US; elsewhere
 * 3/4 can be either day, and only 24/11 is plain. Undefined where the text is none, a day without a time among them.
 */
export function readTypedTime(text: string, today: LocalDay): TypedTime {
  const typed = text
    .trim()
    .toLowerCase()
    .replace(/\s+/g, ' ')
    .replace(/^(\d{4}-\d\d?-\d\d?)t/, '$1 ')
  const [, dayText = '', clockText = ''] = /^(?:([^\s,]*[/-][^\s,]*|\p{L}[\p{L}'’]{2,}),? )?(.+)$/u.exec(typed) ?? []
  const time = readClock(clockText)
  if (time === undefined) return undefined
  const [one, other] = readDays(dayText, today).map((day) => `${day}T${time}`)
  return one !== undefined && other !== undefined ? { either: [one, other] } : one
}

/** What to do about a time that can be meant in two ways, as a sentence: each of them typed so that it is plain. */
export const sayEitherTime = (typed: string, { either }: Exclude<TypedTime, string | undefined>): string => {
  const [one, other] = either.map((time) => time.replace('T', ' '))
  return phrase('“{typed}” can be {one} or {other}: type it as one of these', { typed: typed.trim(), one, other })
}
