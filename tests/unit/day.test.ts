import fc from 'fast-check'
import { Temporal } from 'temporal-polyfill'
import { describe, expect, it } from 'vitest'
import {
  addDays,
  dayNumber,
  dayOf,
  dayOfNumber,
  daysBetween,
  endOfDay,
  isZone,
  localTimeAt,
  localTimeOf,
  monthOf,
  noonOf,
  parseDay,
  readAsOf,
  readLocalTime,
  startOfDay,
  storedDay,
  weekday,
} from '#core/words/day.ts'
import { dayMs, fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

const at = fromStoredInstant
const day = storedDay
const denver = 'America/Denver'

/** Zones with and without a change of clocks, on both sides of the date line, with odd offsets and odd changes. */
const zone = fc.constantFrom(
  'UTC',
  denver,
  'Europe/Berlin',
  'Pacific/Auckland',
  'Pacific/Kiritimati',
  'Pacific/Pago_Pago',
  'Asia/Kathmandu',
  'Australia/Lord_Howe',
  'America/Sao_Paulo',
  'Africa/Cairo',
)
const instant = fc.integer({ min: Date.UTC(1975, 0, 1), max: Date.UTC(2100, 0, 1) })
const anyDay = fc.integer({ min: dayNumber(day('1975-01-01')), max: dayNumber(day('2100-01-01')) }).map(dayOfNumber)

describe('the day of an instant', () => {
  it('is that of the zone, not that of UTC', () => {
    expect(dayOf(at('2026-11-26T02:00:00.000Z'), denver)).toBe('2026-11-25')
    expect(dayOf(at('2026-11-25T23:30:00.000Z'), 'Europe/Berlin')).toBe('2026-11-26')
    expect(localTimeOf(at('2026-11-26T02:00:00.000Z'), denver)).toBe('2026-11-25T19:00')
  })

  it('is that which Temporal has, on every day that clocks change too', () => {
    const years = fc.integer({ min: Date.UTC(1900, 0, 1), max: Date.UTC(2190, 0, 1) })
    fc.assert(
      fc.property(fc.oneof(instant, years), fc.oneof(zone, fc.constant('America/St_Johns')), (ms, where) => {
        const known = Temporal.Instant.fromEpochMilliseconds(ms).toZonedDateTimeISO(where).toPlainDate()
        expect(dayOf(ms, where)).toBe(known.toString())
        expect(startOfDay(dayOf(ms, where), where)).toBe(known.toZonedDateTime(where).epochMilliseconds)
        expect(addDays(dayOf(ms, where), 365)).toBe(known.add({ days: 365 }).toString())
      }),
      { numRuns: 1000 },
    )
  })

  it('begins and ends around it, and no other day does', () => {
    fc.assert(
      fc.property(instant, zone, (ms, where) => {
        const own = dayOf(ms, where)
        expect(startOfDay(own, where)).toBeLessThanOrEqual(ms)
        expect(endOfDay(own, where)).toBeGreaterThanOrEqual(ms)
        expect(endOfDay(own, where) + 1).toBe(startOfDay(addDays(own, 1), where))
      }),
    )
  })

  it('is the same at its noon and at both its ends', () => {
    fc.assert(
      fc.property(anyDay, zone, (one, where) => {
        for (const ms of [startOfDay(one, where), noonOf(one, where), endOfDay(one, where)])
          expect(dayOf(ms, where)).toBe(one)
      }),
    )
  })

  it('has 23 hours in spring, 25 in autumn, 24 otherwise', () => {
    const hours = (text: string) => (endOfDay(day(text), denver) + 1 - startOfDay(day(text), denver)) / 3_600_000
    expect([hours('2026-03-08'), hours('2026-11-01'), hours('2026-07-04')]).toEqual([23, 25, 24])
  })

  it('is told of later instants in order', () => {
    fc.assert(
      fc.property(instant, instant, zone, (one, other, where) => {
        const [earlier, later] = one <= other ? [one, other] : [other, one]
        expect(dayOf(earlier, where) <= dayOf(later, where)).toBe(true)
      }),
    )
  })
})

describe('reckoning with days', () => {
  it('knows leap days', () => {
    expect(addDays(day('2028-02-28'), 1)).toBe('2028-02-29')
    expect(addDays(day('2028-02-29'), 365)).toBe('2029-02-28')
    expect(addDays(day('2026-02-28'), 1)).toBe('2026-03-01')
    expect(daysBetween(day('2028-02-28'), day('2028-03-01'))).toBe(2)
    expect(daysBetween(day('2026-12-31'), day('2027-01-01'))).toBe(1)
  })

  it('goes there and back, by number too', () => {
    fc.assert(
      fc.property(anyDay, fc.integer({ min: -4000, max: 4000 }), (one, n) => {
        const other = addDays(one, n)
        expect(daysBetween(one, other)).toBe(n)
        expect(addDays(other, -n)).toBe(one)
        expect(dayNumber(other)).toBe(dayNumber(one) + n)
        expect(dayOfNumber(dayNumber(other))).toBe(other)
        expect(n > 0).toBe(other > one)
        expect(parseDay(other)).toBe(other)
      }),
    )
  })

  it('names months and days of the week', () => {
    expect(monthOf(day('2026-12-31'))).toBe('2026-12')
    expect(['2026-03-02', '2026-03-07', '2026-03-08', '1970-01-01'].map((text) => weekday(day(text)))).toEqual([
      1, 6, 7, 4,
    ])
  })
})

describe('a typed day', () => {
  it.each(['2026-03-01', '2028-02-29', '2000-02-29', '1900-01-01', '2199-12-31'])('is read: %s', (text) => {
    expect(parseDay(text)).toBe(text)
  })

  it.each([
    '',
    'today',
    '2026-02-29',
    '2100-02-29',
    '2026-04-31',
    '2026-13-01',
    '2026-00-10',
    '2026-01-00',
    '2026-3-1',
    '1899-12-31',
    '2200-01-01',
    ' 2026-03-01',
    '2026-03-01T00:00',
  ])('is refused: %j', (text) => {
    expect(parseDay(text)).toBeUndefined()
  })

  it('throws RangeError where the program itself wrote a bad one', () => {
    expect(() => storedDay('2026-02-30')).toThrow(RangeError)
  })
})

describe('what is asked about', () => {
  it('is the end of a day in the zone, or a full time itself', () => {
    expect(toStoredInstant(readAsOf('2026-06-01', 'UTC') as number)).toBe('2026-06-01T23:59:59.999Z')
    expect(toStoredInstant(readAsOf('2026-06-01', denver) as number)).toBe('2026-06-02T05:59:59.999Z')
    expect(toStoredInstant(readAsOf('2026-06-01T10:00:00-05:00', denver) as number)).toBe('2026-06-01T15:00:00.000Z')
  })

  it.each(['2026-02-30', '2026-6-1', 'today', ''])('is refused: %j', (text) => {
    expect(readAsOf(text, 'UTC')).toBeUndefined()
  })
})

describe('a local time', () => {
  it('comes once on most days', () => {
    expect(readLocalTime('2026-11-25T19:00', denver)).toEqual({ occurs: 'once', at: at('2026-11-26T02:00:00.000Z') })
  })

  it('comes twice in the night in which clocks are set back, an hour apart', () => {
    expect(readLocalTime('2026-11-01T01:30', denver)).toEqual({
      occurs: 'twice',
      first: at('2026-11-01T07:30:00.000Z'),
      second: at('2026-11-01T08:30:00.000Z'),
    })
    expect(readLocalTime('2026-11-01T02:00', denver)).toMatchObject({ occurs: 'once' })
    // Half an hour only on Lord Howe Island.
    const howe = readLocalTime('2026-04-05T01:45', 'Australia/Lord_Howe')
    expect(howe?.occurs === 'twice' && howe.second - howe.first).toBe(30 * 60_000)
  })

  it('never comes in the hour that is left out', () => {
    expect(readLocalTime('2026-03-08T02:30', denver)).toEqual({ occurs: 'never' })
    expect(readLocalTime('2026-03-08T03:00', denver)).toMatchObject({ occurs: 'once' })
    expect(readLocalTime('2026-03-08T01:59', denver)).toMatchObject({ occurs: 'once' })
    // Samoa left a whole day out when it went to the other side of the date line.
    expect(readLocalTime('2011-12-30T12:00', 'Pacific/Apia')).toEqual({ occurs: 'never' })
  })

  it.each(['', '2026-02-30T10:00', '2026-03-01', '2026-03-01T24:00', '2026-03-01T10:60', '2026-03-01T10:00Z', 'noon'])(
    'is refused: %j',
    (text) => {
      expect(readLocalTime(text, denver)).toBeUndefined()
    },
  )

  it('reads back every instant that it shows, as the only one or as one of two', () => {
    fc.assert(
      fc.property(instant, zone, (ms, where) => {
        const minute = ms - (((ms % 60_000) + 60_000) % 60_000)
        const read = readLocalTime(localTimeOf(minute, where), where)
        const { occurs, ...times } = read ?? { occurs: 'never' }
        expect(occurs).not.toBe('never')
        expect(Object.values(times)).toContain(minute)
      }),
    )
  })

  it('is the same given as if it were of UTC', () => {
    fc.assert(
      fc.property(instant, zone, (ms, where) => {
        const wall = ms - (((ms % 60_000) + 60_000) % 60_000)
        expect(localTimeAt(wall, where)).toEqual(readLocalTime(toStoredInstant(wall).slice(0, 16), where))
      }),
    )
  })
})

describe('a zone', () => {
  it('is one of the IANA database', () => {
    expect([denver, 'UTC', 'Pacific/Auckland'].map(isZone)).toEqual([true, true, true])
    expect(['', 'Denver', 'America/Nowhere', '+01:00', 'America/Denver; drop'].map(isZone)).toEqual(
      Array.from({ length: 5 }, () => false),
    )
  })

  it('has days of another length than 24 hours in a year with two changes, and only then', () => {
    const lengths = (where: string) =>
      Array.from({ length: 365 }, (_, n) => addDays(day('2026-01-01'), n)).filter(
        (one) => endOfDay(one, where) + 1 - startOfDay(one, where) !== dayMs,
      )
    expect(lengths(denver)).toEqual(['2026-03-08', '2026-11-01'])
    expect(lengths('UTC')).toEqual([])
  })
})
