import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type TwoWeights,
  type Wander,
  monthMs,
  readState,
  shareOf,
  wanderCovariance,
  wanderOn,
} from '#core/line/track.ts'

const states: fc.Arbitrary<TwoWeights> = fc
  .record({
    atEmpty: fc.double({ min: 6000, max: 14_000, noNaN: true }),
    atLimit: fc.double({ min: 25_000, max: 40_000, noNaN: true }),
    uEmpty: fc.double({ min: 10, max: 800, noNaN: true }),
    uLimit: fc.double({ min: 10, max: 800, noNaN: true }),
    correlation: fc.double({ min: -0.99, max: 0.99, noNaN: true }),
  })
  .map(({ atEmpty, atLimit, uEmpty, uLimit, correlation }) => ({
    atEmpty,
    atLimit,
    varEmpty: uEmpty ** 2,
    varLimit: uLimit ** 2,
    cov: correlation * uEmpty * uLimit,
  }))
const shares = fc.double({ min: -0.5, max: 1.5, noNaN: true })
const wanders: fc.Arbitrary<Wander> = fc.record({
  psiPerRootMonth: fc.double({ min: 0.001, max: 1, noNaN: true }),
  slopeLbPerPsi: fc.double({ min: -900, max: 900, noNaN: true }),
})
const times = fc.double({ min: 0, max: 36 * monthMs, noNaN: true })

/** No direction in which the state has a negative variance, but for rounding. */
const isCovariance = ({ varEmpty, varLimit, cov }: TwoWeights) =>
  varEmpty >= 0 && varLimit >= 0 && cov * cov <= varEmpty * varLimit * (1 + 1e-9) + 1e-6

describe('wandering', () => {
  it('never shrinks the variance, moves no weight, and adds up over time', () => {
    fc.assert(
      fc.property(states, wanders, times, times, shares, (state, wander, first, second, anywhere) => {
        const later = wanderOn(state, wander, first)
        expect([later.atEmpty, later.atLimit]).toEqual([state.atEmpty, state.atLimit])
        expect(readState(later, anywhere).variance).toBeGreaterThanOrEqual(
          readState(state, anywhere).variance * (1 - 1e-9),
        )
        expect(isCovariance(later)).toBe(true)
        const inTwo = wanderOn(later, wander, second)
        const inOne = wanderOn(state, wander, first + second)
        expect(inTwo.varLimit).toBeCloseTo(inOne.varLimit, 3)
        expect(inTwo.cov).toBeCloseTo(inOne.cov, 3)
      }),
    )
  })

  it('takes a month for its unit and the slope to turn psi into lb; time does not run backwards', () => {
    const wander = { psiPerRootMonth: 0.05, slopeLbPerPsi: 400 }
    expect(Math.sqrt(wanderCovariance(wander, 4 * monthMs).varLimit)).toBeCloseTo(40, 9)
    expect(wanderCovariance(wander, -monthMs)).toEqual({ varEmpty: 0, varLimit: 0, cov: 0 })
  })
})

describe('shareOf', () => {
  it('is 0 at empty, 1 at limit, and goes on beyond both', () => {
    expect([14, 60, 37, 83, -9].map((psi) => shareOf(psi, 14, 60))).toEqual([0, 1, 0.5, 1.5, -0.5])
  })
})
