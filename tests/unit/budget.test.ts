import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { pressureUncertaintyPsi, scaleGainUncertainty, ticketUncertaintyLb } from '#core/evidence/calibrate.ts'

const size = fc.double({ min: 0, max: 100, noNaN: true })

describe('ticketUncertaintyLb', () => {
  it('joins the rounding to a 20 lb division and 40 lb of repeatability: √(20²/12 + 40²)', () => {
    expect(ticketUncertaintyLb(20, 40)).toBeCloseTo(40.4145, 4)
  })

  it('is the rounding alone, d/√12, when nothing else is uncertain (JCGM 100:2008, 4.3.7)', () => {
    expect(ticketUncertaintyLb(20, 0)).toBeCloseTo(5.7735, 4)
    expect(ticketUncertaintyLb(0, 40)).toBe(40)
  })

  it('never shrinks when a part grows', () => {
    fc.assert(
      fc.property(size, size, size, (division, repeatability, more) => {
        const before = ticketUncertaintyLb(division, repeatability)
        expect(ticketUncertaintyLb(division + more, repeatability)).toBeGreaterThanOrEqual(before)
        expect(ticketUncertaintyLb(division, repeatability + more)).toBeGreaterThanOrEqual(before)
      }),
    )
  })
})

describe('pressureUncertaintyPsi', () => {
  it('joins 0.4 psi of leveling with the resolution of one sensor: √(0.4² + 0.1²/12)', () => {
    expect(pressureUncertaintyPsi([0.1], [1], 0.4)).toBeCloseTo(0.40104, 5)
  })

  it('averages the resolutions of two circuits, not the leveling that they share', () => {
    expect(pressureUncertaintyPsi([1, 1], [0.5, 0.5], 0)).toBeCloseTo(1 / Math.sqrt(12) / Math.SQRT2, 12)
    expect(pressureUncertaintyPsi([0, 0], [0.5, 0.5], 0.4)).toBeCloseTo(0.4, 12)
  })

  it('weighs the circuits as the mean pressure does', () => {
    expect(pressureUncertaintyPsi([1, 2], [0.75, 0.25], 0)).toBeCloseTo(Math.hypot(0.75, 0.5) / Math.sqrt(12), 12)
  })

  it('never shrinks when a part grows', () => {
    fc.assert(
      fc.property(size, size, size, (resolution, leveling, more) => {
        const before = pressureUncertaintyPsi([resolution, 0.1], [0.5, 0.5], leveling)
        expect(pressureUncertaintyPsi([resolution + more, 0.1], [0.5, 0.5], leveling)).toBeGreaterThanOrEqual(before)
        expect(pressureUncertaintyPsi([resolution, 0.1], [0.5, 0.5], leveling + more)).toBeGreaterThanOrEqual(before)
      }),
    )
  })
})

describe('scaleGainUncertainty', () => {
  it('takes a tolerance as a rectangular half-width: 0.2 % is 0.00115 (JCGM 100:2008, 4.3.7)', () => {
    expect(scaleGainUncertainty(0.2)).toBeCloseTo(0.0011547, 7)
    expect(scaleGainUncertainty(0)).toBe(0)
  })
})
