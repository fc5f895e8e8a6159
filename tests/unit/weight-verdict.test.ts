import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { judgeWeight, oneSidedFactor, probabilityOver } from '#core/weight/verdict.ts'

const weight = fc.double({ min: 0, max: 200_000, noNaN: true })
const u = fc.double({ min: 0, max: 5000, noNaN: true })
const limit = fc.double({ min: 1000, max: 120_000, noNaN: true })
const confidence = fc.double({ min: 60, max: 99.9, noNaN: true })
const rank = { under: 0, 'too close to call': 1, over: 2 } as const

describe('judging a weight', () => {
  it('never calls a heavier weight less over', () => {
    fc.assert(
      fc.property(weight, weight, u, limit, confidence, (one, other, uLb, limitLb, percent) => {
        const light = judgeWeight(Math.min(one, other), uLb, limitLb, percent)
        const heavy = judgeWeight(Math.max(one, other), uLb, limitLb, percent)
        expect(rank[heavy.verdict]).toBeGreaterThanOrEqual(rank[light.verdict])
        expect(heavy.pOver).toBeGreaterThanOrEqual(light.pOver)
        expect(heavy.roomLb).toBeLessThanOrEqual(light.roomLb)
      }),
    )
  })

  it('has room exactly when under, and fills it to under and not beyond', () => {
    fc.assert(
      fc.property(weight, u, limit, confidence, (weightLb, uLb, limitLb, percent) => {
        const { verdict, roomLb } = judgeWeight(weightLb, uLb, limitLb, percent)
        expect(roomLb >= 0).toBe(verdict === 'under')
        expect(judgeWeight(weightLb + roomLb - 0.01, uLb, limitLb, percent).verdict).toBe('under')
        expect(judgeWeight(weightLb + roomLb + 0.01, uLb, limitLb, percent).verdict).not.toBe('under')
      }),
    )
  })

  it('agrees with its own probability: under at most 1 - c, over at least c', () => {
    fc.assert(
      fc.property(weight, u, limit, confidence, (weightLb, uLb, limitLb, percent) => {
        const { verdict, pOver } = judgeWeight(weightLb, uLb, limitLb, percent)
        const c = percent / 100
        const [least, most] = { under: [0, 1 - c], over: [c, 1], 'too close to call': [1 - c, c] }[verdict] as [
          number,
          number,
        ]
        expect(pOver).toBeGreaterThanOrEqual(least - 1e-9)
        expect(pOver).toBeLessThanOrEqual(most + 1e-9)
      }),
    )
  })

  it('takes a weight at its limit without uncertainty as lawful', () => {
    expect(judgeWeight(34_000, 0, 34_000, 95)).toEqual({ limitLb: 34_000, pOver: 0, verdict: 'under', roomLb: 0 })
    expect(judgeWeight(34_000.5, 0, 34_000, 95)).toMatchObject({ pOver: 1, verdict: 'over' })
  })

  it('decides nothing more when less sure', () => {
    fc.assert(
      fc.property(weight, u, u, limit, confidence, (weightLb, one, other, limitLb, percent) => {
        const sure = judgeWeight(weightLb, Math.min(one, other), limitLb, percent)
        const unsure = judgeWeight(weightLb, Math.max(one, other), limitLb, percent)
        expect([sure.verdict, 'too close to call']).toContain(unsure.verdict)
      }),
    )
  })

  it('refuses what is no number, no uncertainty and no confidence', () => {
    expect(() => probabilityOver(Number.NaN, 1, 1)).toThrow(RangeError)
    expect(() => probabilityOver(1, -1, 1)).toThrow(RangeError)
    expect(() => probabilityOver(1, 1, Number.POSITIVE_INFINITY)).toThrow(RangeError)
    for (const percent of [49.9, 100, Number.NaN]) expect(() => oneSidedFactor(percent)).toThrow(RangeError)
  })
})
