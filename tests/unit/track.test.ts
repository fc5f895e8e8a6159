import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { standardNormalCdf } from '#core/line/statistics.ts'
import {
  type TwoWeights,
  type Wander,
  innovate,
  monthMs,
  readState,
  shareOf,
  updateState,
  wanderCovariance,
  wanderOn,
} from '#core/line/track.ts'
import { Random } from '#demo/simulation/random.ts'

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
const checks = fc.record({
  share: shares,
  weightLb: fc.double({ min: 5000, max: 45_000, noNaN: true }),
  varLb2: fc.double({ min: 400, max: 250_000, noNaN: true }),
})
const wanders: fc.Arbitrary<Wander> = fc.record({
  psiPerRootMonth: fc.double({ min: 0.001, max: 1, noNaN: true }),
  slopeLbPerPsi: fc.double({ min: -900, max: 900, noNaN: true }),
})
const times = fc.double({ min: 0, max: 36 * monthMs, noNaN: true })

const checked = (state: TwoWeights, { share, weightLb, varLb2 }: { share: number; weightLb: number; varLb2: number }) =>
  updateState(state, share, innovate(state, share, weightLb, varLb2))
/** No direction in which the state has a negative variance, but for rounding. */
const isCovariance = ({ varEmpty, varLimit, cov }: TwoWeights) =>
  varEmpty >= 0 && varLimit >= 0 && cov * cov <= varEmpty * varLimit * (1 + 1e-9) + 1e-6

describe('an update by a check', () => {
  it('never grows the variance, at any pressure, and leaves a covariance', () => {
    fc.assert(
      fc.property(states, checks, shares, (state, check, anywhere) => {
        const later = checked(state, check)
        expect(later.varEmpty).toBeLessThanOrEqual(state.varEmpty)
        expect(later.varLimit).toBeLessThanOrEqual(state.varLimit)
        expect(readState(later, anywhere).variance).toBeLessThanOrEqual(
          readState(state, anywhere).variance * (1 + 1e-9) + 1e-6,
        )
        expect(isCovariance(later)).toBe(true)
      }),
    )
  })

  it('moves the reading at its own pressure towards the ticket and not beyond it', () => {
    fc.assert(
      fc.property(states, checks, (state, check) => {
        const before = check.weightLb - readState(state, check.share).weightLb
        const left = check.weightLb - readState(checked(state, check), check.share).weightLb
        expect(Math.abs(left)).toBeLessThanOrEqual(Math.abs(before) + 1e-6)
        expect(left * before).toBeGreaterThanOrEqual(-1e-6)
      }),
    )
  })

  it('takes the weighted mean of line and ticket where both speak of one pressure', () => {
    const state = { atEmpty: 10_000, atLimit: 34_000, varEmpty: 900, varLimit: 3600, cov: 0 }
    const later = checked(state, { share: 1, weightLb: 34_100, varLb2: 1200 })
    expect(later.atLimit).toBeCloseTo((34_000 / 3600 + 34_100 / 1200) / (1 / 3600 + 1 / 1200), 9)
    expect(later.varLimit).toBeCloseTo(1 / (1 / 3600 + 1 / 1200), 9)
    expect([later.atEmpty, later.varEmpty]).toEqual([10_000, 900])
  })

  it('does not care in which order two checks of one time come', () => {
    fc.assert(
      fc.property(states, checks, checks, (state, one, two) => {
        const there = checked(checked(state, one), two)
        const back = checked(checked(state, two), one)
        for (const [a, b] of [
          [there.atEmpty, back.atEmpty],
          [there.atLimit, back.atLimit],
        ] as const)
          expect(Math.abs(a - b)).toBeLessThan(1e-5)
        const size = state.varEmpty + state.varLimit
        for (const [a, b] of [
          [there.varEmpty, back.varEmpty],
          [there.varLimit, back.varLimit],
          [there.cov, back.cov],
        ] as const)
          expect(Math.abs(a - b)).toBeLessThan(1e-7 * size)
      }),
    )
  })
})

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

/**
 * Groups made exactly as the track believes: a line drawn from its starting covariance, wandering at its rate, checked
 * at random loads with the stated variance.
 */
function simulatedInnovations(groups: number, checksEach: number): number[][] {
  const random = new Random('innovations')
  const wander = { psiPerRootMonth: 0.15, slopeLbPerPsi: 450 }
  const start: TwoWeights = {
    atEmpty: 10_000,
    atLimit: 34_000,
    varEmpty: 160 ** 2,
    varLimit: 140 ** 2,
    cov: 0.3 * 160 * 140,
  }
  /** A pair of normal numbers with a covariance. */
  const pair = ({ varEmpty, varLimit, cov }: Pick<TwoWeights, 'varEmpty' | 'varLimit' | 'cov'>): [number, number] => {
    const first = random.normal(1)
    const second = random.normal(1)
    const slope = cov / varEmpty
    return [
      Math.sqrt(varEmpty) * first,
      slope * Math.sqrt(varEmpty) * first + Math.sqrt(varLimit - slope * cov) * second,
    ]
  }
  return Array.from({ length: groups }, () => {
    let [empty, limit] = pair(start).map((off, i) => off + (i === 0 ? start.atEmpty : start.atLimit)) as [
      number,
      number,
    ]
    let state = start
    return Array.from({ length: checksEach }, () => {
      const ms = random.between(10, 22) * 86_400_000
      const [byEmpty, byLimit] = pair(wanderCovariance(wander, ms))
      empty += byEmpty
      limit += byLimit
      state = wanderOn(state, wander, ms)
      const share = random.between(-0.05, 1.05)
      const varLb2 = random.between(120, 260) ** 2
      const innovation = innovate(
        state,
        share,
        (1 - share) * empty + share * limit + random.normal(Math.sqrt(varLb2)),
        varLb2,
      )
      state = updateState(state, share, innovation)
      return innovation.z
    })
  })
}

describe('the standardised misses of a line that behaves as the model says (2,000 seeded groups of 30 checks)', () => {
  const runs = simulatedInnovations(2000, 30)
  const all = runs.flat()
  const count = all.length
  const mean = all.reduce((sum, z) => sum + z, 0) / count

  it('have mean 0 and variance 1', () => {
    const variance = all.reduce((sum, z) => sum + (z - mean) ** 2, 0) / count
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(count))
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / count))
  })

  it.each([1, 2, 3])('lie within ± %d as often as normal numbers', (band) => {
    const expected = 2 * standardNormalCdf(band) - 1
    const share = all.filter((z) => Math.abs(z) <= band).length / count
    expect(Math.abs(share - expected)).toBeLessThan(4 * Math.sqrt((expected * (1 - expected)) / count))
  })

  it('do not foretell each other, near or far', () => {
    for (const lag of [1, 2, 5]) {
      const products = runs.flatMap((run) => run.slice(lag).map((z, i) => z * (run[i] as number)))
      expect(Math.abs(products.reduce((sum, value) => sum + value, 0) / products.length)).toBeLessThan(
        4 / Math.sqrt(products.length),
      )
    }
  })

  it('are as wide at the first check as at the last', () => {
    for (const place of [0, 1, 29]) {
      const variance = runs.reduce((sum, run) => sum + (run[place] as number) ** 2, 0) / runs.length
      expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / runs.length))
    }
  })
})
