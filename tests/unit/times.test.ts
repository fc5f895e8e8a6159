import { expect, test } from 'vitest'
import { timesIn } from '#renderer/parts/times.ts'

test('due dates are counted in days of the fleet around the day asked about', () => {
  const { away } = timesIn('UTC')
  expect(away('2026-03-01', '2026-03-01T23:59:59.000Z')).toBe('today')
  expect(away('2026-03-11', '2026-03-01T00:00:00.000Z')).toBe('in 10\u00a0d')
  expect(away('2026-02-27', '2026-03-01T12:00:00.000Z')).toBe('2\u00a0d ago')
  expect(timesIn('America/Denver').away('2026-03-01', '2026-03-02T02:00:00.000Z')).toBe('today')
})

test('times are written in the zone of the fleet, whatever the computer says', () => {
  const denver = timesIn('America/Denver')
  expect(denver.day('2026-11-26T02:00:00.000Z')).toBe('2026-11-25')
  expect(denver.moment('2026-11-26T02:00:00.000Z')).toBe('2026-11-25 19:00\u00a0MST')
  expect(timesIn('Europe/Berlin').day('2026-11-25T23:30:00.000Z')).toBe('2026-11-26')
  expect(denver.daysFrom('2026-11-25T06:59:00.000Z', '2026-11-25T07:01:00.000Z')).toBe(1)
})

test('the seconds of a moment choose neither another hour nor none, where it comes twice', () => {
  const { typed, read } = timesIn('America/Denver')
  for (const [stored, minute] of [
    ['2026-11-01T07:30:00.000Z', '2026-11-01T07:30:00.000Z'],
    ['2026-11-01T07:30:29.999Z', '2026-11-01T07:30:00.000Z'],
    ['2026-11-01T07:30:30.001Z', '2026-11-01T07:30:00.000Z'],
    ['2026-11-01T08:30:59.999Z', '2026-11-01T08:30:00.000Z'],
  ] as const)
    expect(read(typed(stored))).toEqual({ ok: true, value: minute })
})

test('a typed time that comes twice is asked about, and one that never comes is refused', () => {
  const { read, typed } = timesIn('America/Denver')
  expect(read('2026-11-25T19:00')).toEqual({ ok: true, value: '2026-11-26T02:00:00.000Z' })
  expect(read('2026-11-01T01:30')).toEqual({
    ok: false,
    message: '2026-11-01 01:30 comes twice that night: choose the first or the second.',
  })
  expect(read('2026-11-01T01:30-06:00')).toEqual({ ok: true, value: '2026-11-01T07:30:00.000Z' })
  expect(read('2026-11-01T01:30-07:00')).toEqual({ ok: true, value: '2026-11-01T08:30:00.000Z' })
  expect(read('2026-03-08T02:30')).toMatchObject({ ok: false, message: expect.stringContaining('is left out') })
  expect(read('soon')).toMatchObject({ ok: false, message: expect.stringContaining('is not a date and time') })
  for (const stored of ['2026-11-01T07:30:00.000Z', '2026-11-01T08:30:00.000Z', '2026-11-26T02:00:00.000Z'])
    expect(read(typed(stored))).toEqual({ ok: true, value: stored })
})
