import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { changeOf, countedRate, drawnRate, monthRates, standingTo } from '#core/weight/month-rates.ts'
import { addMonths, daysOfMonth, parseMonth } from '#core/words/day.ts'
import { some } from '#tests/some.ts'

const rate = fc
  .uniqueArray(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 3, maxLength: 3 })
  .map((ends) => ends.toSorted((a, b) => a - b))
  .map(([low = 0, own = 0, high = 0]) => ({ rate: own, low, high }))

describe('rates of a month', () => {
  it('are worse or better for sure only where the whole 95 % interval is on one side', () => {
    fc.assert(
      fc.property(rate, fc.double({ min: 0, max: 1, noNaN: true }), (own, fleet) => {
        const isWorse = own.low > fleet
        const isBetter = own.high < fleet
        expect(standingTo(fleet, own)).toBe(
          isWorse ? 'worse than the fleet' : isBetter ? 'better than the fleet' : 'no sure difference',
        )
      }),
    )
  })

  it('change the other way round when told from the other month', () => {
    const back = { 'more often': 'less often', 'less often': 'more often', 'no sure change': 'no sure change' } as const
    fc.assert(
      fc.property(rate, rate, (a, b) => {
        expect(changeOf(a, b)).toBe(back[changeOf(b, a)])
      }),
    )
  })

  it('of a whole count are as counted, and never certain', () => {
    expect(countedRate({ heavy: 0, weighings: 0 })).toBeUndefined()
    const clean = countedRate({ heavy: 0, weighings: 50 })
    expect(clean?.rate).toBe(0)
    expect(clean?.low).toBe(0)
    expect(clean?.high).toBeGreaterThan(0.01)
    expect(countedRate({ heavy: 5, weighings: 50 })?.rate).toBe(0.1)
    expect(countedRate({ heavy: 50, weighings: 50 })?.high).toBe(1)
  })

  it('carry the quantiles of the beta distribution: closed forms of Beta(1, n) and of the arcsine, Beta(1/2, 1/2)', () => {
    // The uniform is Beta(1, 1).
    expect(drawnRate({ id: 0, heavy: 0, weighings: 0, rate: 0, uShrunkRate: 0, shrunkRate: 0.5, worth: 2 })).toEqual({
      rate: 0.5,
      low: expect.closeTo(0.025, 12),
      high: expect.closeTo(0.975, 12),
    })
    // Beta(1, n): 1 - (1 - p)^(1/n).
    expect(
      drawnRate({ id: 0, heavy: 0, weighings: 0, rate: 0, uShrunkRate: 0, shrunkRate: 1 / 20, worth: 20 }),
    ).toEqual({
      rate: 0.05,
      low: expect.closeTo(1 - 0.975 ** (1 / 19), 12),
      high: expect.closeTo(1 - 0.025 ** (1 / 19), 12),
    })
    // Beta(1/2, 1/2): sin²(π p/2).
    expect(drawnRate({ id: 0, heavy: 0, weighings: 0, rate: 0, uShrunkRate: 0, shrunkRate: 0.5, worth: 1 })).toEqual({
      rate: 0.5,
      low: expect.closeTo(Math.sin((Math.PI * 0.025) / 2) ** 2, 12),
      high: expect.closeTo(Math.sin((Math.PI * 0.975) / 2) ** 2, 12),
    })
  })

  it('never reach below nothing or beyond always, and hold the rate that is told', () => {
    const count = fc.integer({ min: 1, max: 400 }).chain((weighings) =>
      fc.record({
        id: fc.constant(0),
        weighings: fc.constant(weighings),
        heavy: fc.integer({ min: 0, max: weighings }),
      }),
    )
    fc.assert(
      fc.property(fc.array(count, { minLength: 1, maxLength: 20 }), (counts) => {
        const drawn = [...monthRates(counts.map((one, id) => ({ ...one, id }))).values()].map(drawnRate)
        for (const { rate: told, low, high } of [...drawn, ...counts.flatMap((one) => countedRate(one) ?? [])]) {
          expect(low >= 0 && low <= told && told <= high && high <= 1).toBe(true)
          expect(high).toBeGreaterThan(low)
        }
      }),
    )
  })

  it('leave out what was not weighed', () => {
    const rates = monthRates([
      { id: 'a', heavy: 2, weighings: 10 },
      { id: 'b', heavy: 0, weighings: 0 },
    ])
    expect(some([...rates.keys()])).toEqual(['a'])
    expect(monthRates([]).size).toBe(0)
  })

  it('are of months that know their days', () => {
    const month = parseMonth('2028-02')
    expect(month && daysOfMonth(month)).toEqual({ from: '2028-02-01', to: '2028-02-29' })
    expect(month && addMonths(month, -12)).toBe('2027-02')
    expect(['2028-13', '2028-2', 'x', ''].map(parseMonth)).toEqual([undefined, undefined, undefined, undefined])
  })
})
