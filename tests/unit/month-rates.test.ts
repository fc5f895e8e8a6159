import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { changeOf, countedRate, monthRates, standingTo } from '#core/weight/month-rates.ts'
import { addMonths, daysOfMonth, parseMonth } from '#core/words/day.ts'
import { some } from '#tests/some.ts'

const rate = fc.record({
  rate: fc.double({ min: 0, max: 1, noNaN: true }),
  u: fc.double({ min: 0.001, max: 0.3, noNaN: true }),
})

describe('rates of a month', () => {
  it('are worse or better for sure only where the whole 95 % interval is on one side', () => {
    fc.assert(
      fc.property(rate, fc.double({ min: 0, max: 1, noNaN: true }), (own, fleet) => {
        const worse = own.rate - 2 * own.u > fleet
        const better = own.rate + 2 * own.u < fleet
        expect(standingTo(fleet, own)).toBe(
          worse ? 'worse than the fleet' : better ? 'better than the fleet' : 'no sure difference',
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
    expect(clean?.u).toBeGreaterThan(0)
    expect(countedRate({ heavy: 5, weighings: 50 })?.rate).toBe(0.1)
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
