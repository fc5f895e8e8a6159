import { describe, expect, it } from 'vitest'
import { shrinkEffects } from '#core/line/shrink.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import rail from '#tests/reference/rail-random-effects.json' with { type: 'json' }

const { data, published, computed } = rail

/** Mean of each rail, with the uncertainty that the published scatter within rails leaves it. */
const rails = [...new Set(data.rail)]
const means = rails.map((one) => {
  const own = data.travel_ns.filter((_, i) => data.rail[i] === one)
  return own.reduce((sum, value) => sum + value, 0) / own.length
})
const u = rails.map((one) => computed.sd_within / Math.sqrt(data.rail.filter((each) => each === one).length))

describe('rail travel times, one-way random effects (Pinheiro & Bates 2000, section 1.1)', () => {
  const found = shrinkEffects(means, u)

  it('gives the printed standard deviation between rails, and the mean with its standard error', () => {
    expect(Math.abs(found.between - published.sd_between)).toBeLessThan(halfUnit(3))
    expect(found.mean).toBeCloseTo(published.mean, 9)
    expect(Math.abs(found.uMean - published.se_mean)).toBeLessThan(halfUnit(3))
  })

  it('agrees with R nlme to 1e-6, the effect of each rail among it', () => {
    expect(relativeError(found.between, computed.sd_between)).toBeLessThan(1e-6)
    computed.predicted_effect_of_rail_1_to_6.forEach((effect, i) => {
      expect(relativeError(found.effects[i] as number, effect)).toBeLessThan(1e-6)
    })
  })
})

describe('effects that chance explains', () => {
  it('are shrunk to their mean altogether', () => {
    const { between, effects } = shrinkEffects([1, 1.1, 0.9], [0.5, 0.5, 0.5])
    expect(between).toBe(0)
    expect(effects.map(Math.abs)).toEqual([0, 0, 0])
  })

  it('refuses a single one', () => {
    expect(() => shrinkEffects([1], [1])).toThrow(RangeError)
  })
})
