import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Line } from '#core/line/fit.ts'
import { predictWeight } from '#core/line/predict.ts'
import { chiSquaredQuantile } from '#core/line/statistics.ts'
import { compareLines, weightsAt } from '#core/line/track.ts'
import { Random } from '#demo/simulation/random.ts'

/** Lines as calibrations make them: the correlation of a and b well away from ± 1. */
const lines: fc.Arbitrary<Line> = fc
  .record({
    a: fc.double({ min: -5000, max: 12_000, noNaN: true }),
    b: fc.double({ min: 100, max: 900, noNaN: true }),
    uA: fc.double({ min: 20, max: 600, noNaN: true }),
    uB: fc.double({ min: 0.5, max: 20, noNaN: true }),
    correlation: fc.double({ min: -0.98, max: 0.98, noNaN: true }),
  })
  .map(({ a, b, uA, uB, correlation }) => ({ a, b, uA, uB, covAB: correlation * uA * uB }))
const empty = fc.double({ min: 0, max: 30, noNaN: true })
const span = fc.double({ min: 10, max: 80, noNaN: true })

const differenceAt = (earlier: Line, later: Line, emptyPsi: number, limitPsi: number) =>
  compareLines(weightsAt(earlier, emptyPsi, limitPsi), weightsAt(later, emptyPsi, limitPsi))

describe('a line as its weights at two pressures', () => {
  it('has the value and uncertainty that predictWeight reads there', () => {
    fc.assert(
      fc.property(lines, empty, span, (line, emptyPsi, over) => {
        const { atEmpty, atLimit, varEmpty, varLimit } = weightsAt(line, emptyPsi, emptyPsi + over)
        const atBoth = [predictWeight(line, emptyPsi), predictWeight(line, emptyPsi + over)] as const
        expect(atEmpty).toBeCloseTo(atBoth[0].value, 6)
        expect(atLimit).toBeCloseTo(atBoth[1].value, 6)
        expect(Math.sqrt(varEmpty)).toBeCloseTo(atBoth[0].u, 6)
        expect(Math.sqrt(varLimit)).toBeCloseTo(atBoth[1].u, 6)
      }),
    )
  })

  it('keeps the determinant of the covariance, times the square of the distance', () => {
    fc.assert(
      fc.property(lines, empty, span, (line, emptyPsi, over) => {
        const { varEmpty, varLimit, cov } = weightsAt(line, emptyPsi, emptyPsi + over)
        const own = line.uA ** 2 * line.uB ** 2 - line.covAB ** 2
        expect(Math.abs((varEmpty * varLimit - cov * cov) / (own * over * over) - 1)).toBeLessThan(1e-7)
      }),
    )
  })
})

describe('compareLines', () => {
  it('gives one chi-squared wherever the two pressures lie', () => {
    fc.assert(
      fc.property(lines, lines, empty, span, empty, span, (earlier, later, emptyPsi, over, otherPsi, otherOver) => {
        const { chi2 } = differenceAt(earlier, later, emptyPsi, emptyPsi + over)
        const other = differenceAt(earlier, later, otherPsi, otherPsi + otherOver).chi2
        expect(Math.abs(other - chi2)).toBeLessThan(1e-6 * (1 + chi2))
      }),
    )
  })

  it('is symmetric: later less earlier is earlier less later with the signs turned', () => {
    fc.assert(
      fc.property(lines, lines, empty, span, (earlier, later, emptyPsi, over) => {
        const there = differenceAt(earlier, later, emptyPsi, emptyPsi + over)
        const back = differenceAt(later, earlier, emptyPsi, emptyPsi + over)
        expect(back.atEmptyLb + there.atEmptyLb === 0 && back.atLimitLb + there.atLimitLb === 0).toBe(true)
        expect([back.uEmptyLb, back.uLimitLb]).toEqual([there.uEmptyLb, there.uLimitLb])
        expect(Math.abs(back.chi2 - there.chi2)).toBeLessThan(1e-9 * (1 + there.chi2))
      }),
    )
  })

  it('finds no difference between a line and itself, and never less certainty by what is added', () => {
    fc.assert(
      fc.property(
        lines,
        lines,
        empty,
        span,
        fc.double({ min: 1, max: 1e6, noNaN: true }),
        (earlier, later, emptyPsi, over, variance) => {
          expect(differenceAt(earlier, earlier, emptyPsi, emptyPsi + over)).toMatchObject({
            atEmptyLb: 0,
            atLimitLb: 0,
            chi2: 0,
          })
          const one = weightsAt(earlier, emptyPsi, emptyPsi + over)
          const two = weightsAt(later, emptyPsi, emptyPsi + over)
          const plain = compareLines(one, two)
          const wandered = compareLines(one, two, { varEmpty: variance, varLimit: variance, cov: variance / 2 })
          expect(wandered.uEmptyLb).toBeGreaterThan(plain.uEmptyLb)
          expect(wandered.uLimitLb).toBeGreaterThan(plain.uLimitLb)
          expect(wandered.chi2).toBeLessThanOrEqual(plain.chi2 * (1 + 1e-9) + 1e-9)
        },
      ),
    )
  })

  it('adds to the squares of both differences where their errors are independent', () => {
    const weights = (atEmpty: number, atLimit: number) => ({ atEmpty, atLimit, varEmpty: 50, varLimit: 200, cov: 0 })
    expect(compareLines(weights(10_000, 34_000), weights(10_030, 33_920))).toEqual({
      atEmptyLb: 30,
      uEmptyLb: 10,
      atLimitLb: -80,
      uLimitLb: 20,
      chi2: 3 ** 2 + 4 ** 2,
    })
  })

  it('has a chi-squared of two degrees of freedom when nothing moved: 20,000 seeded pairs', () => {
    const random = new Random('compare')
    const truth = { a: 4000, b: 500 }
    const drawn = (): Line => {
      const [uA, uB, correlation] = [150, 4, -0.9]
      const [z1, z2] = [random.normal(1), random.normal(1)]
      return {
        a: truth.a + uA * z1,
        b: truth.b + uB * (correlation * z1 + Math.sqrt(1 - correlation ** 2) * z2),
        uA,
        uB,
        covAB: correlation * uA * uB,
      }
    }
    const runs = 20_000
    const values = Array.from({ length: runs }, () => differenceAt(drawn(), drawn(), 14, 60).chi2)
    for (const p of [0.5, 0.95, 0.999]) {
      const share = values.filter((chi2) => chi2 <= chiSquaredQuantile(p, 2)).length / runs
      expect(Math.abs(share - p)).toBeLessThan(4 * Math.sqrt((p * (1 - p)) / runs))
    }
  })
})
