import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type CorrelatedWeight, covarianceLb2, exactWeight, sumWeights, varianceLb2 } from '#core/weight/correlated.ts'

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const base: fc.Arbitrary<CorrelatedWeight> = fc.record({
  weightLb: number(0, 40_000),
  ownVarLb2: number(0, 90_000),
  follows: fc.constant(null),
  gains: fc.uniqueArray(fc.record({ scaleId: fc.integer({ min: 1, max: 3 }), lb: number(-80, 80) }), {
    maxLength: 3,
    selector: ({ scaleId }) => scaleId,
  }),
})
const pair = fc
  .tuple(base, base, number(-0.3, 0.3))
  .map(([drive, rest, slope]) => ({ drive, steer: { ...rest, follows: { weight: drive, slope } } }))

describe('sums of weights with shared errors', () => {
  it('have the variance of the whole covariance matrix: fᵀ C f (JCGM 100:2008 5.2.2)', () => {
    fc.assert(
      fc.property(
        pair,
        base,
        fc.tuple(number(-1, 1), number(-1, 1), number(-1, 1)),
        ({ drive, steer }, trailer, shares) => {
          const weights = [steer, drive, trailer]
          let variance = 0
          for (const [i, one] of weights.entries()) {
            for (const [j, other] of weights.entries())
              variance += (shares[i] as number) * (shares[j] as number) * covarianceLb2(one, other)
          }
          expect(sumWeights(weights, shares).uLb ** 2).toBeCloseTo(Math.max(0, variance), 4)
        },
      ),
    )
  })

  it('know a covariance that is symmetric and, of a weight with itself, its variance', () => {
    fc.assert(
      fc.property(pair, ({ drive, steer }) => {
        expect(covarianceLb2(drive, steer)).toBeCloseTo(covarianceLb2(steer, drive), 6)
        for (const weight of [drive, steer]) expect(covarianceLb2(weight, weight)).toBeCloseTo(varianceLb2(weight), 4)
        expect(covarianceLb2(drive, steer) ** 2).toBeLessThanOrEqual(
          varianceLb2(drive) * varianceLb2(steer) * (1 + 1e-9) + 1e-6,
        )
      }),
    )
  })

  it('carry the slope of an estimate: u² of steer and drive is (1 + b)² u²(drive) and the rest', () => {
    const drive = { weightLb: 30_000, ownVarLb2: 200 ** 2, gains: [], follows: null }
    const steer = { weightLb: 11_500, ownVarLb2: 50 ** 2, gains: [], follows: { weight: drive, slope: 0.12 } }
    expect(sumWeights([steer, drive]).uLb).toBeCloseTo(Math.hypot(1.12 * 200, 50), 9)
    expect(covarianceLb2(steer, drive)).toBeCloseTo(0.12 * 200 ** 2, 6)
  })

  it('add the gain of a common scale straight, of two scales in quadrature', () => {
    const on = (scaleId: number, lb: number): CorrelatedWeight => ({
      weightLb: 1,
      ownVarLb2: 0,
      gains: [{ scaleId, lb }],
      follows: null,
    })
    expect(sumWeights([on(1, 30), on(1, 40)]).uLb).toBeCloseTo(70, 9)
    expect(sumWeights([on(1, 30), on(2, 40)]).uLb).toBeCloseTo(50, 9)
    expect(sumWeights([on(1, 30), on(1, 40)], [1, -1]).uLb).toBeCloseTo(10, 9)
  })

  it('never lose uncertainty by a less certain part', () => {
    fc.assert(
      fc.property(fc.array(base, { minLength: 1, maxLength: 5 }), number(0, 5000), (weights, more) => {
        const [first, ...rest] = weights as [CorrelatedWeight, ...CorrelatedWeight[]]
        const looser = { ...first, ownVarLb2: first.ownVarLb2 + more }
        expect(sumWeights([looser, ...rest]).uLb).toBeGreaterThanOrEqual(sumWeights(weights).uLb)
      }),
    )
  })

  it('are exact for exact weights and refuse lists of different lengths', () => {
    expect(sumWeights([exactWeight(0), exactWeight(12)])).toEqual({ weightLb: 12, uLb: 0 })
    expect(sumWeights([])).toEqual({ weightLb: 0, uLb: 0 })
    expect(() => sumWeights([exactWeight(1)], [])).toThrow(RangeError)
  })
})
