import { describe, expect, it } from 'vitest'
import { describeRange, ranges } from '#core/words/vocabulary.ts'

describe('ranges', () => {
  it.each(Object.entries(ranges))('%s: has a lower and an upper end', (_, { min, max }) => {
    expect(min).toBeLessThan(max)
  })
})

describe('describeRange', () => {
  it('writes both ends with thousands and the unit', () => {
    expect(describeRange(ranges.weightLb)).toBe('0 to 400,000 lb')
    expect(describeRange(ranges.divisionLb)).toBe('0.1 to 1,000 lb')
    expect(describeRange(ranges.elevationFt)).toBe('-1,500 to 20,000 ft')
    expect(describeRange(ranges.tolerancePercent)).toBe('0 to 10 %')
  })

  it('writes a year without a thousands comma', () => {
    expect(describeRange(ranges.modelYear)).toBe('1900 to 2100')
  })
})
