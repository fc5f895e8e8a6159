import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fleetRate, shrinkRate, worstOffenders } from '#core/weight/heavy.ts'
import { normalFrom } from '#tests/unit/weight-fleet.ts'
import { some } from '#tests/some.ts'
import { seeded } from '#tests/seeded.ts'

const count = fc
  .integer({ min: 1, max: 300 })
  .chain((weighings) =>
    fc.record({ id: fc.constant(0), weighings: fc.constant(weighings), heavy: fc.integer({ min: 0, max: weighings }) }),
  )
const fleet = fc
  .array(count, { minLength: 1, maxLength: 40 })
  .map((counts) => counts.map((one, id) => ({ ...one, id })))

describe('shrunk rates', () => {
  it("lie between the unit's own and the fleet's, are probabilities, and know their spread", () => {
    fc.assert(
      fc.property(fleet, (counts) => {
        const whole = fleetRate(counts)
        for (const { rate, shrunkRate, uShrunkRate, weighings, worth } of worstOffenders(counts)) {
          expect(shrunkRate).toBeGreaterThanOrEqual(Math.min(rate, whole.rate) - 1e-12)
          expect(shrunkRate).toBeLessThanOrEqual(Math.max(rate, whole.rate) + 1e-12)
          expect(uShrunkRate > 0 && uShrunkRate <= 0.5).toBe(true)
          expect(worth).toBe(whole.weight + weighings)
        }
      }),
    )
  })

  it('rank the same whatever the order of the units, worst first', () => {
    fc.assert(
      fc.property(fleet, (counts) => {
        const ranked = worstOffenders(counts)
        expect(ranked).toHaveLength(counts.length)
        for (let i = 1; i < ranked.length; i += 1)
          expect((ranked[i - 1]?.shrunkRate ?? 0) >= (ranked[i]?.shrunkRate ?? 0)).toBe(true)
        const back = worstOffenders([...counts].reverse())
        for (const [i, one] of ranked.entries()) expect(back[i]?.shrunkRate).toBeCloseTo(one.shrunkRate, 10)
      }),
    )
  })

  it('move less for fewer weighings at one and the same counted rate', () => {
    fc.assert(
      fc.property(
        fleet,
        fc.integer({ min: 1, max: 50 }),
        fc.integer({ min: 2, max: 20 }),
        (counts, weighings, times) => {
          const whole = fleetRate(counts)
          const few = shrinkRate({ id: 'few', heavy: weighings, weighings }, whole)
          const many = shrinkRate({ id: 'many', heavy: weighings * times, weighings: weighings * times }, whole)
          expect(many.shrunkRate).toBeGreaterThanOrEqual(few.shrunkRate)
        },
      ),
    )
  })

  it('keep one bad day of a rarely used truck from the top', () => {
    const usual = Array.from({ length: 30 }, (_, i) => ({ id: `T-${i}`, heavy: i % 4, weighings: 80 }))
    const ranked = worstOffenders([
      ...usual,
      { id: 'rare', heavy: 1, weighings: 1 },
      { id: 'always', heavy: 40, weighings: 80 },
    ])
    expect(ranked[0]?.id).toBe('always')
    expect(ranked.find(({ id }) => id === 'rare')?.shrunkRate).toBeLessThan(0.4)
  })

  it('leave out units never weighed and answer an empty fleet with nothing', () => {
    expect(worstOffenders([{ id: 'T-1', heavy: 0, weighings: 0 }])).toEqual([])
    expect(worstOffenders([])).toEqual([])
    expect(() => fleetRate([{ id: 1, heavy: 3, weighings: 2 }])).toThrow(RangeError)
  })

  it('draw units that differ by chance alone all to one rate, and a clean fleet to a small one that is not zero', () => {
    const clean = worstOffenders(Array.from({ length: 20 }, (_, id) => ({ id, heavy: 0, weighings: 50 })))
    for (const { shrunkRate } of some(clean)) {
      expect(shrunkRate).toBeGreaterThan(0)
      expect(shrunkRate).toBeLessThan(0.001)
    }
  })

  it('find the spread that made the counts: weight 18 of rates drawn from Beta(2, 16) within 20 % (seeded, 4,000 units)', () => {
    const next = seeded(20_260_301)
    const normal = normalFrom(next)
    // A gamma variable of whole or half shape k is half a sum of 2k squared normal ones.
    const gamma = (shape: number) =>
      Array.from({ length: 2 * shape }, () => normal() ** 2).reduce((sum, square) => sum + square / 2, 0)
    const counts = Array.from({ length: 4000 }, (_, id) => {
      const a = gamma(2)
      const rate = a / (a + gamma(16))
      const weighings = 5 + Math.floor(60 * next())
      return {
        id,
        weighings,
        heavy: Array.from({ length: weighings }, () => Number(next() < rate)).reduce((sum, one) => sum + one, 0),
      }
    })
    const { rate, weight } = fleetRate(counts)
    expect(Math.abs(rate - 2 / 18)).toBeLessThan(0.005)
    expect(Math.abs(weight / 18 - 1)).toBeLessThan(0.2)
  })
})
