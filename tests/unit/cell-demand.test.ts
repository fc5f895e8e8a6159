import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type CellInUse, cellDemand } from '#core/cells/cell-demand.ts'
import { countRange } from '#core/cells/count-range.ts'
import type { StratumLaw } from '#core/cells/life-model.ts'
import { at, sumOf } from '#core/words/lists.ts'

/** The distribution of a count by trying out who comes to pass and who does not. */
function byTrying(chances: readonly number[]): number[] {
  const shares = Array<number>(chances.length + 1).fill(0)
  for (let who = 0; who < 2 ** chances.length; who += 1) {
    const count = chances.filter((_, i) => (who >> i) & 1).length
    const share = chances.reduce((product, p, i) => product * ((who >> i) & 1 ? p : 1 - p), 1)
    shares[count] = at(shares, count) + share
  }
  return shares
}
const quantile = (shares: readonly number[], wanted: number): number => {
  let sum = 0
  return shares.findIndex((share) => {
    sum += share
    return sum >= wanted - 1e-12
  })
}

describe('a count of things that may come to pass', () => {
  it('is the Poisson-binomial one: expected, and its 10 % and 90 % by trying out all cases', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 9 }), (chances) => {
        const shares = byTrying(chances)
        const { expected, low, high } = countRange([{ weight: 1, each: chances }])
        expect(expected).toBeCloseTo(
          sumOf(chances, (p) => p),
          6,
        )
        expect([low, high]).toEqual([quantile(shares, 0.1), quantile(shares, 0.9)])
      }),
    )
  })

  it('is known for what is sure: five of five, none of none', () => {
    expect(countRange([{ weight: 1, each: [1, 1, 1, 1, 1, 0] }])).toEqual({ expected: 5, low: 5, high: 5 })
    expect(countRange([{ weight: 1, each: [] }])).toEqual({ expected: 0, low: 0, high: 0 })
  })

  it('is within one count of the exact one where there are many', () => {
    const many = Array.from({ length: 900 }, (_, i) => 0.02 + (0.3 * ((i * 7) % 10)) / 10)
    const thirds = [0, 1, 2].map((part) => many.filter((_, i) => i % 3 === part))
    // A third at a time is added up exactly, and those three are folded into one.
    const fold = thirds.map((own) => {
      const shares = Array<number>(own.length + 1).fill(0)
      shares[0] = 1
      own.forEach((p, i) => {
        for (let k = i + 1; k > 0; k -= 1) shares[k] = at(shares, k) * (1 - p) + at(shares, k - 1) * p
        shares[0] = at(shares, 0) * (1 - p)
      })
      return shares
    })
    const together = fold.reduce((sum, part) => {
      const next = Array<number>(sum.length + part.length - 1).fill(0)
      sum.forEach((a, i) => {
        part.forEach((b, j) => {
          next[i + j] = at(next, i + j) + a * b
        })
      })
      return next
    })
    const { low, high } = countRange([{ weight: 1, each: many }])
    expect(Math.abs(low - quantile(together, 0.1))).toBeLessThanOrEqual(1)
    expect(Math.abs(high - quantile(together, 0.9))).toBeLessThanOrEqual(1)
  })

  it('is wider where the chances hang together: half the time all, half the time none', () => {
    const each = [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5]
    const apart = countRange([{ weight: 1, each }])
    const together = countRange([
      { weight: 0.5, each: each.map(() => 1) },
      { weight: 0.5, each: each.map(() => 0) },
    ])
    expect(together).toEqual({ expected: 4, low: 0, high: 8 })
    expect(together.expected).toBe(apart.expected)
    expect(apart.high - apart.low).toBeLessThan(8)
  })
})

const law = (part: Partial<StratumLaw> = {}): StratumLaw => ({
  cell: 'CR2450',
  reportEveryS: 300,
  lives: 0,
  deaths: 0,
  lifeDays: 600,
  shape: 3,
  varLnLife: 0,
  varLnShape: 0,
  covLnLifeLnShape: 0,
  ...part,
})
/** One law for all, as a fleet has one for each of its few conditions. */
const usual = law()
const months = [0, 1, 2, 3, 4, 5, 6].map((i) => ({ from: 30 * i, to: 30 * (i + 1) }))
const cell = (part: Partial<CellInUse> = {}): CellInUse => ({
  yardId: 1,
  cell: 'CR2450',
  law: usual,
  ageDays: 300,
  dead: false,
  swapInDays: 100,
  swapAgeDays: 280,
  ...part,
})
const only = (...cells: CellInUse[]) => at(cellDemand(cells, months), 0)

describe('the cells that a yard takes', () => {
  it('is each cell’s risk of dying in the month, and on its day of swap all that is left (by hand)', () => {
    const { months: byMonth, through } = only(cell())
    const alive = (days: number) => Math.exp((300 / 600) ** 3 - ((300 + days) / 600) ** 3)
    expect(at(byMonth, 0).expected).toBeCloseTo(1 - alive(30), 4)
    expect(at(byMonth, 1).expected).toBeCloseTo(alive(30) - alive(60), 4)
    // Swapped on day 100: whatever lived until the fourth month began.
    expect(at(byMonth, 3).expected).toBeCloseTo(alive(90), 2)
    expect(at(through, 3)).toMatchObject({ low: 1, high: 1 })
    // A fresh one is young until the end.
    expect(at(through, 6).expected).toBeCloseTo(1, 1)
  })

  it('counts one that is dead once, on its day, whatever the law says', () => {
    const { months: byMonth } = only(cell({ dead: true, swapInDays: 2 }))
    expect(at(byMonth, 0)).toMatchObject({ low: 1, high: 1 })
    expect(at(byMonth, 0).expected).toBeCloseTo(1, 3)
    expect(at(byMonth, 1).expected).toBeLessThan(0.01)
  })

  it('with lives by chance alone is the Poisson process: days through over the mean life, cells in their turn included', () => {
    const { through } = only(cell({ law: law({ lifeDays: 60, shape: 1 }), swapInDays: 9999, swapAgeDays: 9999 }))
    // Within 2 %: a death is replaced from the middle of its month.
    for (const [i, { to }] of months.entries()) expect(at(through, i).expected / (to / 60)).toBeCloseTo(1, 1)
  })

  it('has cells of a short swap age in their turn', () => {
    const { through } = only(cell({ ageDays: 1, swapInDays: 40, swapAgeDays: 50, law: law({ lifeDays: 5000 }) }))
    // Days 40, 90, 140 and 190.
    expect(at(through, 6)).toMatchObject({ low: 4, high: 4 })
  })

  it('adds up: months to the whole, cells to their yard, and a yard or type has its own row', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            ageDays: fc.integer({ min: 0, max: 900 }),
            swapInDays: fc.integer({ min: 0, max: 400 }),
            dead: fc.boolean(),
            yardId: fc.constantFrom(1, 2, null),
            cell: fc.constantFrom('CR2450', 'CR2477', null),
          }),
          { minLength: 1, maxLength: 12 },
        ),
        (parts) => {
          const rows = cellDemand(parts.map(cell), months)
          expect(sumOf(rows, ({ cells }) => cells)).toBe(parts.length)
          expect(new Set(rows.map((row) => `${row.yardId} ${row.cell}`)).size).toBe(rows.length)
          for (const { months: byMonth, through } of rows) {
            expect(sumOf(byMonth, ({ expected }) => expected)).toBeCloseTo(at(through, 6).expected, 2)
            for (const { low, high, expected } of [...byMonth, ...through]) {
              expect(low).toBeLessThanOrEqual(high)
              expect(expected).toBeGreaterThanOrEqual(low - 1)
              expect(expected).toBeLessThanOrEqual(high + 1)
            }
            for (let i = 1; i < through.length; i += 1)
              expect(at(through, i).expected).toBeGreaterThanOrEqual(at(through, i - 1).expected - 1e-9)
          }
        },
      ),
      { numRuns: 40 },
    )
  })

  it('is as wide as the law is uncertain: what is common to all cells does not even out', () => {
    const many = (uncertain: Partial<StratumLaw>) => {
      const own = law(uncertain)
      return at(only(...Array.from({ length: 200 }, () => cell({ law: own, swapInDays: 500 }))).through, 6)
    }
    const [sure, unsure] = [many({}), many({ varLnLife: 0.04 })]
    expect(unsure.high - unsure.low).toBeGreaterThan(2 * (sure.high - sure.low))
  })
})
