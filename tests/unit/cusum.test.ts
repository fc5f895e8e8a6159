import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { averageRunLength, cusumStart, cusumStep } from '#core/line/cusum.ts'
import { Random } from '#demo/simulation/random.ts'

const deviation = fc.double({ min: -20, max: 20, noNaN: true })
const slack = fc.double({ min: 0.05, max: 2, noNaN: true })

const runOf = (deviations: readonly number[], k: number) =>
  deviations.reduce((sums, each) => cusumStep(sums, each, k), cusumStart)

describe('the tabular CUSUM', () => {
  it('never falls below zero, and turns over with the deviations', () => {
    fc.assert(
      fc.property(fc.array(deviation, { maxLength: 30 }), slack, (deviations, k) => {
        const sums = runOf(deviations, k)
        const turned = runOf(
          deviations.map((each) => -each),
          k,
        )
        expect(sums.high).toBeGreaterThanOrEqual(0)
        expect(turned.high === sums.low && turned.low === sums.high).toBe(true)
      }),
    )
  })

  it('stays at zero while no deviation exceeds the slack', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { maxLength: 30 }), slack, (shares, k) => {
        expect(
          runOf(
            shares.map((share) => share * k),
            k,
          ),
        ).toEqual({ high: 0, low: 0 })
      }),
    )
  })

  it('is the largest excess of any run of deviations up to now (its other definition)', () => {
    fc.assert(
      fc.property(fc.array(deviation, { minLength: 1, maxLength: 20 }), slack, (deviations, k) => {
        let largest = 0
        let excess = 0
        for (const each of deviations.toReversed()) {
          excess += each - k
          largest = Math.max(largest, excess)
        }
        expect(runOf(deviations, k).high).toBeCloseTo(largest, 9)
      }),
    )
  })
})

/** Mean number of steps until an alarm, over seeded runs of standard normal deviations with a shift. */
function simulatedRun(shift: number, k: number, h: number, runs: number): { mean: number; u: number } {
  const random = new Random(`run ${shift} ${k} ${h}`)
  let sum = 0
  let squares = 0
  for (let run = 0; run < runs; run += 1) {
    let sums = cusumStart
    let steps = 0
    do {
      sums = cusumStep(sums, shift + random.normal(1), k)
      steps += 1
    } while (sums.high <= h && sums.low <= h)
    sum += steps
    squares += steps * steps
  }
  const mean = sum / runs
  return { mean, u: Math.sqrt((squares / runs - mean * mean) / runs) }
}

describe('averageRunLength', () => {
  it.each([
    [0, 0.5, 4],
    [0, 0.5, 5],
    [0.5, 0.5, 5],
    [1, 0.5, 5],
    [1, 0.5, 8],
    [2, 0.5, 8],
    [-1, 0.5, 8],
    [0, 1, 3],
  ] as const)(
    'shift %d, slack %d, limit %d: what seeded runs take, within 5 % and three of their standard deviations',
    (shift, k, h) => {
      const { mean, u } = simulatedRun(shift, k, h, 2000)
      expect(Math.abs(averageRunLength(shift, k, h) - mean)).toBeLessThan(0.05 * mean + 3 * u)
    },
  )

  it('is about 9,600 checks to a false alarm for the slack and limit of the House Rules', () => {
    expect(averageRunLength(0, 0.5, 8)).toBeGreaterThan(9000)
    expect(averageRunLength(0, 0.5, 8)).toBeLessThan(10_200)
  })

  it('falls with the shift, rises with slack and limit, and stays a number however large they are', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 50, noNaN: true }),
        fc.double({ min: 0.01, max: 3, noNaN: true }),
        slack,
        fc.double({ min: 2, max: 30, noNaN: true }),
        (shift, more, k, h) => {
          const run = averageRunLength(shift, k, h)
          expect(run).toBeGreaterThan(0)
          expect(Number.isNaN(run)).toBe(false)
          expect(averageRunLength(shift + more, k, h)).toBeLessThanOrEqual(run * (1 + 1e-9))
          expect(averageRunLength(shift, k + more, h)).toBeGreaterThanOrEqual(run * (1 - 1e-9))
          expect(averageRunLength(shift, k, h + more)).toBeGreaterThanOrEqual(run * (1 - 1e-9))
        },
      ),
    )
  })
})
