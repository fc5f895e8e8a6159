import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fromStoredInstant, parseInstant, toStoredInstant } from '#core/words/instant.ts'

const inRange = fc
  .date({ min: new Date('1901-01-01T00:00:00Z'), max: new Date('2199-12-30T00:00:00Z'), noInvalidDate: true })
  .map((date) => date.getTime())

describe('parseInstant', () => {
  it.each([
    ['2026-03-01T20:30:00Z', '2026-03-01T20:30:00.000Z'],
    ['2026-03-01T14:30:00-06:00', '2026-03-01T20:30:00.000Z'],
    ['2026-03-01T14:30-0600', '2026-03-01T20:30:00.000Z'],
    ['2026-03-01 14:30:00-06', '2026-03-01T20:30:00.000Z'],
    ['2026-03-01t20:30:00z', '2026-03-01T20:30:00.000Z'],
    ['2026-03-01T20:30:00.25Z', '2026-03-01T20:30:00.250Z'],
    ['2026-03-01T20:30:00,123456789Z', '2026-03-01T20:30:00.123Z'],
    ['2026-03-01T00:15:00+05:45', '2026-02-28T18:30:00.000Z'],
    ['2024-02-29T12:00:00Z', '2024-02-29T12:00:00.000Z'],
    ['2000-02-29T12:00:00Z', '2000-02-29T12:00:00.000Z'],
    ['1900-01-01T00:00:00Z', '1900-01-01T00:00:00.000Z'],
    ['2199-12-31T23:59:59Z', '2199-12-31T23:59:59.000Z'],
  ])('reads %s', (text, stored) => {
    expect(toStoredInstant(parseInstant(text) as number)).toBe(stored)
  })

  it.each([
    '',
    '2026-03-01',
    '2026-03-01T20:30:00',
    '03/01/2026 20:30',
    '2026-3-1T20:30:00Z',
    '2026-02-29T12:00:00Z',
    '2100-02-29T12:00:00Z',
    '2026-04-31T12:00:00Z',
    '2026-13-01T12:00:00Z',
    '2026-00-10T12:00:00Z',
    '2026-01-00T12:00:00Z',
    '2026-01-01T24:00:00Z',
    '2026-01-01T12:60:00Z',
    '2026-01-01T12:00:60Z',
    '2026-01-01T12:00:00+15:00',
    '2026-01-01T12:00:00+05:60',
    '1899-12-31T23:59:59Z',
    '2200-01-01T00:00:00Z',
    ' 2026-03-01T20:30:00Z',
    '2026-03-01T20:30:00Zulu',
    '20260301T203000Z',
  ])('refuses %j', (text) => {
    expect(parseInstant(text)).toBeUndefined()
  })

  it('reads back what is stored, whatever the zone it is written in', () => {
    fc.assert(
      fc.property(inRange, fc.integer({ min: -14 * 60, max: 14 * 60 }), (ms, offset) => {
        const local = new Date(ms + offset * 60_000).toISOString().slice(0, -1)
        const sign = offset < 0 ? '-' : '+'
        const [hours, minutes] = [Math.floor(Math.abs(offset) / 60), Math.abs(offset) % 60].map((part) =>
          String(part).padStart(2, '0'),
        )
        expect(parseInstant(`${local}${sign}${hours}:${minutes}`)).toBe(ms)
        expect(fromStoredInstant(toStoredInstant(ms))).toBe(ms)
      }),
    )
  })
})

describe('stored times', () => {
  it('sort as text in the order of time', () => {
    fc.assert(
      fc.property(inRange, inRange, (one, other) => {
        expect(toStoredInstant(one) < toStoredInstant(other)).toBe(one < other)
      }),
    )
  })

  it('throw RangeError when they are none: a programmer wrote them', () => {
    expect(() => fromStoredInstant('yesterday')).toThrow(RangeError)
  })
})
