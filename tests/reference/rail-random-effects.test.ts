import { describe, expect, it } from 'vitest'
import { type Sample, randomEffects } from '#core/line/random-effects.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import rail from '#tests/reference/rail-random-effects.json' with { type: 'json' }

const { data, published, computed } = rail

function samplesOf(members: readonly number[], values: readonly number[]): Sample[] {
  return [...new Set(members)].map((member) => {
    const own = values.filter((_, i) => members[i] === member)
    const mean = own.reduce((sum, value) => sum + value, 0) / own.length
    return { count: own.length, mean, squares: own.reduce((sum, value) => sum + (value - mean) ** 2, 0) }
  })
}

describe('rail travel times, one-way random effects (Pinheiro & Bates 2000, section 1.1)', () => {
  const found = randomEffects(samplesOf(data.rail, data.travel_ns))

  it('gives the printed standard deviations and mean', () => {
    expect(Math.abs(found.between - published.sd_between)).toBeLessThan(halfUnit(3))
    expect(Math.abs(found.within - published.sd_within)).toBeLessThan(halfUnit(4))
    expect(found.mean).toBeCloseTo(published.mean, 9)
    expect(Math.abs(found.uMean - published.se_mean)).toBeLessThan(halfUnit(3))
  })

  it('agrees with R nlme to 1e-6, effects of the rails among it', () => {
    expect(relativeError(found.between, computed.sd_between)).toBeLessThan(1e-6)
    expect(relativeError(found.within, computed.sd_within)).toBeLessThan(1e-6)
    computed.predicted_effect_of_rail_1_to_6.forEach((effect, i) => {
      expect(relativeError(found.effects[i] as number, effect)).toBeLessThan(1e-6)
    })
  })
})

describe('members that do not differ', () => {
  it('are shrunk to their mean altogether', () => {
    const { between, effects } = randomEffects([
      { count: 4, mean: 1, squares: 30 },
      { count: 4, mean: 1.1, squares: 30 },
      { count: 4, mean: 0.9, squares: 30 },
    ])
    expect(between).toBe(0)
    expect(effects.every((effect) => Math.abs(effect) < 1e-9)).toBe(true)
  })

  it('refuses what cannot tell between from within', () => {
    expect(() =>
      randomEffects([
        { count: 1, mean: 1, squares: 0 },
        { count: 1, mean: 2, squares: 0 },
      ]),
    ).toThrow(RangeError)
  })
})
