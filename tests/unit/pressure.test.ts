import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { circuitShares, gaugePsi } from '#core/evidence/pressure.ts'

describe('gaugePsi', () => {
  it('leaves a gauge reading as it is, at any elevation', () => {
    expect(gaugePsi(62.5, 'gauge', 5280)).toBe(62.5)
    expect(gaugePsi(62.5, 'gauge', null)).toBe(62.5)
  })

  it('takes the atmosphere at the elevation off an absolute reading (U.S. Standard Atmosphere 1976: 14.696 and 12.228 psi)', () => {
    expect(gaugePsi(77.2, 'absolute', 0)).toBeCloseTo(77.2 - 14.696, 3)
    expect(gaugePsi(77.2, 'absolute', 5000)).toBeCloseTo(77.2 - 12.228, 3)
  })

  it('is unknown where the elevation of an absolute reading is', () => {
    expect(gaugePsi(77.2, 'absolute', null)).toBeNull()
  })
})

describe('circuitShares', () => {
  it('follow the air springs', () => {
    expect(circuitShares([4])).toEqual([1])
    expect(circuitShares([4, 4])).toEqual([0.5, 0.5])
    expect(circuitShares([6, 2])).toEqual([0.75, 0.25])
  })

  it('are equal as soon as one number of springs is unknown', () => {
    expect(circuitShares([6, null])).toEqual([0.5, 0.5])
    expect(circuitShares([null])).toEqual([1])
  })

  it('add up to one', () => {
    const springs = fc.array(fc.option(fc.integer({ min: 1, max: 24 })), { minLength: 1, maxLength: 6 })
    fc.assert(
      fc.property(springs, (counts) => {
        expect(circuitShares(counts).reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12)
      }),
    )
  })
})
