import { expect, test } from 'vitest'
import type { LocalDay } from '#core/words/day.ts'
import { readTypedTime } from '#core/words/typed-time.ts'

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
