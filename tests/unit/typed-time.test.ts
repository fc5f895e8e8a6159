import { afterEach, describe, expect, test } from 'vitest'
import type { LocalDay } from '#core/words/day.ts'
import { type Speech, english, speakBy } from '#core/words/phrase.ts'
import { readTypedTime, sayEitherTime } from '#core/words/typed-time.ts'

const today = '2026-01-14' as LocalDay

test.each([
  ['2026-01-12 14:30', '2026-01-12T14:30'],
  ['2026-01-12T14:30', '2026-01-12T14:30'],
  ['2026-1-2 9:05', '2026-01-02T09:05'],
  ['1/12/2026 2:30 PM', '2026-01-12T14:30'],
  ['1/12/26 1430', '2026-01-12T14:30'],
  ['1/12, 2:30p', '2026-01-12T14:30'],
  ['12/30 8 am', '2025-12-30T08:00'],
  ['yesterday 14:30', '2026-01-13T14:30'],
  ['Today 12:15 am', '2026-01-14T00:15'],
  ['12 p.m.', '2026-01-14T12:00'],
  ['14:30', '2026-01-14T14:30'],
  ['7.45', '2026-01-14T07:45'],
])('%s is read as %s', (text, read) => {
  expect(readTypedTime(text, today)).toBe(read)
})

test.each(['', '1/12/2026', 'yesterday', '14', '24:00', '13:30 pm', '2/30 14:30', '13/1 14:30', 'noon', '1/12 14:75'])(
  '“%s” is no date and time',
  (text) => {
    expect(readTypedTime(text, today)).toBeUndefined()
  },
)

describe('where the month does not stand first', () => {
  const speak = (locale: string, catalogue: Speech['catalogue'] = {}) => {
    const speech: Speech = { ...english, locale, catalogue }
    speakBy(() => speech)
  }
  afterEach(() => speakBy(() => english))

  test.each(['es-US', 'es-MX', 'fr-CA', 'en-GB'])('a date of %s that can be two days is asked about', (locale) => {
    speak(locale)
    const read = readTypedTime('3/4/2026 14:30', today)
    expect(read).toEqual({ either: ['2026-03-04T14:30', '2026-04-03T14:30'] })
    expect(typeof read === 'object' && sayEitherTime(' 3/4/2026 14:30', read)).toBe(
      '“3/4/2026 14:30” can be 2026-03-04 14:30 or 2026-04-03 14:30: type it as one of these',
    )
    expect(readTypedTime('1/2 7:00', today)).toEqual({ either: ['2026-01-02T07:00', '2025-02-01T07:00'] })
    // Only one of the two is a day, or both are the same.
    expect(readTypedTime('24/11/2025 14:30', today)).toBe('2025-11-24T14:30')
    expect(readTypedTime('11/24/2025 14:30', today)).toBe('2025-11-24T14:30')
    expect(readTypedTime('5/5/2025 14:30', today)).toBe('2025-05-05T14:30')
    expect(readTypedTime('31/31 14:30', today)).toBeUndefined()
  })

  test('the words for days are those of the language, or English', () => {
    speak('fr-CA', { today: 'aujourd’hui', yesterday: 'hier' })
    expect(readTypedTime("aujourd'hui 14:30", today)).toBe('2026-01-14T14:30')
    expect(readTypedTime('hier, 14:30', today)).toBe('2026-01-13T14:30')
    expect(readTypedTime('yesterday 14:30', today)).toBe('2026-01-13T14:30')
  })
})
