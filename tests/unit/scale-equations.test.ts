import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { absorbLine } from '#core/evidence/scales/absorb-lines.ts'
import { type ScalePrior, judgeScales } from '#core/evidence/scales/hypotheses.ts'
import type { Stretch } from '#core/evidence/scales/stretch.ts'
import { endsCorrelation } from '#core/line/track.ts'
import { type Matrix, inverse, matrix, minus, times, transposed } from '#tests/unit/small-matrix.ts'

const size = 3
const noEquations = () => ({ size, information: new Float64Array(size * size), right: new Float64Array(size) })
const dayMs = 86_400_000
const wanderLb2PerMs = 400 / (30 * dayMs)

/** Misses within a tenth of what would count as wild, so that every weighing counts in full. */
const weighing = fc.record({
  place: fc.nat(size - 1),
  day: fc.nat(300),
  share: fc.integer({ min: 0, max: 24 }).map((twentieths) => twentieths / 20),
  missLb: fc.integer({ min: -20, max: 20 }),
  varLb2: fc.integer({ min: 20_000, max: 60_000 }),
})
const someWeighings = fc.array(weighing, { minLength: 4, maxLength: 9 }).map((all) => {
  const ordered = all.toSorted((one, other) => one.day - other.day)
  const stretch: Stretch = {
    groupId: 1,
    wanderLb2PerMs,
    weighings: ordered.map(({ day, share, missLb, varLb2, place }) => ({
      scaleId: place + 1,
      at: day * dayMs,
      share,
      lineLb: 10_000 + 24_000 * share,
      missLb,
      varLb2,
    })),
  }
  return { stretch, places: ordered.map(({ place }) => place) }
})

/** The mixed model's equations of one stretch, its line eliminated as a whole: a dense Schur complement. */
function denseEquations({ weighings }: Stretch, places: readonly number[]): { information: Matrix; right: Matrix } {
  const count = weighings.length
  const of = (i: number) => weighings[i] as Stretch['weighings'][number]
  const first = of(0).at
  const ends = (i: number) => [1 - of(i).share, of(i).share] as const
  const noise = matrix(count, count, (i, j) => {
    const [e, s] = ends(i)
    const [f, t] = ends(j)
    const walked = wanderLb2PerMs * (Math.min(of(i).at, of(j).at) - first)
    return (i === j ? of(i).varLb2 : 0) + walked * (e * f + s * t + endsCorrelation * (e * t + s * f))
  })
  const line = matrix(count, 2, (i, j) => ends(i)[j === 0 ? 0 : 1])
  const gains = matrix(count, size, (i, j) => (places[i] === j ? of(i).lineLb : 0))
  const misses = matrix(count, 1, (i) => of(i).missLb)
  const precision = inverse(noise).inverse
  const weighed = times(transposed(line), precision)
  const left = minus(precision, times(transposed(weighed), times(inverse(times(weighed, line)).inverse, weighed)))
  const side = times(transposed(gains), left)
  return { information: times(side, gains), right: times(side, misses) }
}

describe('the equations of scales', () => {
  it('are those of the whole mixed model with the line eliminated at once', () => {
    fc.assert(
      fc.property(someWeighings, ({ stretch, places }) => {
        const distinct = new Set(stretch.weighings.map(({ share }) => share))
        fc.pre(distinct.size > 2)
        const found = noEquations()
        absorbLine(stretch, { places, gains: [0, 0, 0], noise: 1 }, found)
        const dense = denseEquations(stretch, places)
        // A line nobody knows is one known to 100,000 lb here: that tells less than a gain of 50 % would.
        const next = 5
        const largest = Math.max(...dense.information.flat().map(Math.abs))
        for (let i = 0; i < size; i += 1) {
          expect(Math.abs((found.right[i] as number) - (dense.right[i]?.[0] ?? Number.NaN))).toBeLessThan(
            0.1 + 1e-4 * Math.abs(dense.right[i]?.[0] ?? 0),
          )
          for (let j = 0; j < size; j += 1) {
            const error = (found.information[i * size + j] as number) - (dense.information[i]?.[j] ?? Number.NaN)
            expect(Math.abs(error)).toBeLessThan(next + 1e-4 * largest)
          }
        }
      }),
      { numRuns: 200 },
    )
  })

  it('say nothing about a scale that alone weighed a group', () => {
    const found = noEquations()
    const weighings = [0.1, 0.5, 0.9, 0.4].map((share, i) => ({
      scaleId: 1,
      at: i * dayMs,
      share,
      lineLb: 10_000 + 24_000 * share,
      missLb: 500 * i,
      varLb2: 40_000,
    }))
    absorbLine({ groupId: 1, wanderLb2PerMs, weighings }, { places: [0, 0, 0, 0], gains: [0, 0, 0], noise: 1 }, found)
    // One percent, squared, would be 10,000: this is next to nothing.
    for (const cell of found.information) expect(Math.abs(cell)).toBeLessThan(1)
  })
})

describe('what is believed of scales', () => {
  const prior: ScalePrior = [0.00115, 0.008, 0.032]
  const share = 0.05
  const further = 0.05
  const equations = {
    size,
    // Differences alone: every row adds up to nothing.
    information: Float64Array.from([6e6, -4e6, -2e6, -4e6, 5e6, -1e6, -2e6, -1e6, 3e6]),
    right: Float64Array.from([18_000, -8_000, -10_000]),
  }

  /** Every supposition by itself, weighed by the likelihood of the equations under its prior. */
  function exhaustive() {
    const information = matrix(size, size, (i, j) => equations.information[i * size + j] as number)
    const right = matrix(size, 1, (i) => equations.right[i] as number)
    const all = [0, 1, 2].flatMap((a) => [0, 1, 2].flatMap((b) => [0, 1, 2].map((c) => [a, b, c])))
    const found = all.map((steps) => {
      const sds = steps.map((step) => prior[step] as number)
      const sum = matrix(size, size, (i, j) => (information[i]?.[j] ?? 0) + (i === j ? 1 / (sds[i] as number) ** 2 : 0))
      const { inverse: covariance, determinant } = inverse(sum)
      const gains = times(covariance, right)
      const quadratic = times(transposed(right), gains)[0]?.[0] ?? Number.NaN
      const logOdds = steps.reduce(
        (odds, step) => odds + (step > 0 ? Math.log(share / (1 - share)) + (step - 1) * Math.log(further) : 0),
        0,
      )
      const logWeight =
        logOdds - sds.reduce((logs, sd) => logs + Math.log(sd), 0) - Math.log(determinant) / 2 + quadratic / 2
      return { steps, covariance, gains, logWeight }
    })
    const best = Math.max(...found.map(({ logWeight }) => logWeight))
    const total = found.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - best), 0)
    return found.map((each) => ({ ...each, share: Math.exp(each.logWeight - best) / total }))
  }

  it('is the average over every supposition of which are out of order', () => {
    const all = exhaustive()
    const { gains, covariance, beyond } = judgeScales(equations, [prior, prior, prior], share)
    const mean = [0, 1, 2].map((i) => all.reduce((sum, each) => sum + each.share * (each.gains[i]?.[0] ?? 0), 0))
    for (let i = 0; i < size; i += 1) {
      expect(Math.abs((gains[i] as number) - (mean[i] as number))).toBeLessThan(2e-6)
      const out = all.reduce((sum, each) => sum + (each.steps[i] === 0 ? 0 : each.share), 0)
      expect(Math.abs((beyond[i] as number) - out)).toBeLessThan(1e-3)
      for (let j = 0; j < size; j += 1) {
        const expected = all.reduce(
          (sum, each) =>
            sum +
            each.share *
              ((each.covariance[i]?.[j] ?? 0) +
                ((each.gains[i]?.[0] ?? 0) - (mean[i] as number)) * ((each.gains[j]?.[0] ?? 0) - (mean[j] as number))),
          0,
        )
        expect(Math.abs((covariance[i * size + j] as number) - expected)).toBeLessThan(1e-3 * 1e-5)
      }
    }
    // The case is one in which it matters: neither sure nor out of the question.
    expect(Math.max(...beyond)).toBeGreaterThan(0.02)
    expect(Math.max(...beyond)).toBeLessThan(0.98)
  })

  it('leaves what all scales have in common to their tolerances', () => {
    const { gains, covariance } = judgeScales(equations, [[0.001], [0.001], [0.001]], share)
    const mean = gains.reduce((sum, gain) => sum + gain, 0) / size
    const varMean = covariance.reduce((sum, cell) => sum + cell, 0) / size ** 2
    expect(Math.abs(mean)).toBeLessThan(1e-9)
    expect(Math.sqrt(varMean)).toBeCloseTo(0.001 / Math.sqrt(3), 9)
  })
})
