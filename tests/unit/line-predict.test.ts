import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { fitted, problems } from '#tests/unit/line-problems.ts'

const psi = fc.double({ min: 0, max: 150, noNaN: true })
const line = { a: 4000, b: 500, uA: 120, uB: 3, covAB: -300 }

describe('predictWeight and pressureAtWeight', () => {
  it('agree with the formulas worked by hand', () => {
    // u² = 120² + 40²·3² + 2·40·(-300) = 4,800; with the pressure's own 0.4 psi another (500·0.4)² = 40,000.
    expect(predictWeight(line, 40)).toEqual({ value: 24_000, u: Math.sqrt(4800) })
    expect(predictWeight(line, 40, 0.4).u).toBeCloseTo(Math.sqrt(44_800), 10)
    const back = pressureAtWeight(line, 24_000, 60)
    expect(back.value).toBe(40)
    expect(back.u).toBeCloseTo(Math.sqrt(4800 + 3600) / 500, 12)
  })

  it('undo each other, in value and in uncertainty', () => {
    fc.assert(
      fc.property(problems(), psi, ({ noisy }, x) => {
        const fit = fitted(noisy)
        const weight = predictWeight(fit, x)
        const back = pressureAtWeight(fit, weight.value)
        expect(Math.abs(back.value - x)).toBeLessThan(1e-9)
        expect(Math.abs(back.u * Math.abs(fit.b) - weight.u)).toBeLessThan(1e-5 * fit.uA + 1e-9)
      }),
    )
  })

  it('never get surer when what they start from gets less sure', () => {
    fc.assert(
      fc.property(
        problems(),
        psi,
        fc.double({ min: 0, max: 5, noNaN: true }),
        fc.double({ min: 0, max: 5, noNaN: true }),
        ({ noisy }, x, u, more) => {
          const fit = fitted(noisy)
          expect(predictWeight(fit, x, u + more).u).toBeGreaterThanOrEqual(predictWeight(fit, x, u).u)
          expect(pressureAtWeight(fit, 20_000, u + more).u).toBeGreaterThanOrEqual(pressureAtWeight(fit, 20_000, u).u)
        },
      ),
    )
  })

  it('are surest in the middle of the points and less so the further outside', () => {
    fc.assert(
      fc.property(
        problems(),
        fc.double({ min: 0, max: 100, noNaN: true }),
        fc.double({ min: 0.1, max: 100, noNaN: true }),
        ({ noisy }, away, further) => {
          const fit = fitted(noisy)
          const middle = -fit.covAB / fit.uB ** 2
          for (const side of [-1, 1]) {
            expect(predictWeight(fit, middle + side * (away + further)).u).toBeGreaterThanOrEqual(
              predictWeight(fit, middle + side * away).u * (1 - 1e-9),
            )
          }
        },
      ),
    )
  })

  it('cut a rounding below zero to zero instead of answering NaN', () => {
    const certain = { a: 0, b: 1, uA: 1, uB: 1 / 3, covAB: -1 / 3 - 1e-17 }
    expect(predictWeight(certain, 3).u).toBeGreaterThanOrEqual(0)
    expect(predictWeight({ ...certain, covAB: -0.34 }, 3).u).toBe(0)
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])('throw RangeError on %d', (value) => {
    expect(() => predictWeight(line, value)).toThrow(RangeError)
    expect(() => pressureAtWeight(line, value)).toThrow(RangeError)
    expect(() => predictWeight(line, 40, value)).toThrow(RangeError)
    expect(() => pressureAtWeight(line, 40, value)).toThrow(RangeError)
  })

  it('throw RangeError on a negative uncertainty and on a level line', () => {
    expect(() => predictWeight(line, 40, -0.1)).toThrow(/pressure uncertainty -0.1/)
    expect(() => pressureAtWeight(line, 40, -0.1)).toThrow(/weight uncertainty -0.1/)
    expect(() => pressureAtWeight({ ...line, b: 0 }, 40)).toThrow(/slope 0/)
  })
})
