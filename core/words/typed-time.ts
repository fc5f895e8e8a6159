import { type LocalDay, addDays, parseDay } from '#core/words/day.ts'

const isoDay = /^(\d{4})-(\d{1,2})-(\d{1,2})$/
const monthFirst = /^(\d{1,2})[/-](\d{1,2})(?:[/-](\d{2}|\d{4}))?$/
const clock = /^(\d{1,2})(?:[:.]?([0-5]\d))?(?::[0-5]\d)?\s*(a|p|am|pm|a\.m\.|p\.m\.)?$/i

const two = (text: string | number) => String(text).padStart(2, '0')

function readDay(text: string, today: LocalDay): LocalDay | undefined {
  if (text === '' || text === 'today') return today
  if (text === 'yesterday') return addDays(today, -1)
  const [, isoYear, isoMonth = '', isoOf = ''] = isoDay.exec(text) ?? []
  if (isoYear !== undefined) return parseDay(`${isoYear}-${two(isoMonth)}-${two(isoOf)}`)
  const [, month, day = '', year] = monthFirst.exec(text) ?? []
  if (month === undefined) return undefined
  if (year !== undefined) return parseDay(`${year.length === 2 ? `20${year}` : year}-${two(month)}-${two(day)}`)
  const ofThisYear = parseDay(`${today.slice(0, 4)}-${two(month)}-${two(day)}`)
  // Without a year the last such day is meant: in January, 12/30 is last year's.
  return ofThisYear === undefined || ofThisYear <= today
    ? ofThisYear
    : parseDay(`${Number(today.slice(0, 4)) - 1}-${two(month)}-${two(day)}`)
}

function readClock(text: string): string | undefined {
  const [, hourText, minutes, half] = clock.exec(text) ?? []
  if (hourText === undefined || (minutes === undefined && half === undefined)) return undefined
  const hour = Number(hourText)
  if (half === undefined) return hour <= 23 ? `${two(hour)}:${minutes}` : undefined
  if (hour < 1 || hour > 12) return undefined
  return `${two((hour % 12) + (half.toLowerCase().startsWith('p') ? 12 : 0))}:${minutes ?? '00'}`
}

/**
 * A date and a time as people type them, month first as in the US, as YYYY-MM-DDTHH:MM: `11/24 2:30 pm`, `11/24/26
 * 1430`, `yesterday 14:30`, `14:30` of today; undefined where the text is none, a day without a time among them.
 */
export function readTypedTime(text: string, today: LocalDay): string | undefined {
  const typed = text
    .trim()
    .toLowerCase()
    .replace(/\s+/g, ' ')
    .replace(/^(\d{4}-\d\d?-\d\d?)t/, '$1 ')
  const [, dayText = '', clockText = ''] = /^(?:([^\s,]*[/-][^\s,]*|today|yesterday),? )?(.+)$/.exec(typed) ?? []
  const [day, time] = [readDay(dayText, today), readClock(clockText)]
  return day === undefined || time === undefined ? undefined : `${day}T${time}`
}
