import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { atmosphericPsi } from '#core/evidence/pressure.ts'

describe('atmosphericPsi', () => {
  it('falls with height', () => {
    const elevation = fc.double({ min: -1500, max: 35_999, noNaN: true })
    fc.assert(
      fc.property(elevation, fc.double({ min: 0.001, max: 1, noNaN: true }), (low, rise) => {
        expect(atmosphericPsi(low + rise)).toBeLessThan(atmosphericPsi(low))
      }),
    )
  })

  it('loses about half a psi per thousand feet near the ground', () => {
    expect(atmosphericPsi(0) - atmosphericPsi(1000)).toBeCloseTo(0.523, 3)
  })

  it('answers at both ends of its range and refuses beyond them', () => {
    expect(atmosphericPsi(-1500)).toBeGreaterThan(15.4)
    expect(atmosphericPsi(36_000)).toBeLessThan(3.4)
    for (const outside of [-1500.1, 36_000.1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => atmosphericPsi(outside)).toThrow(RangeError)
  })
})
