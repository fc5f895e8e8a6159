import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { bestNextPoint, uWithPoint } from '#core/line/next-point.ts'
import { predictWeight } from '#core/line/predict.ts'

const uy = 60
const line = (pressures: readonly number[]) => {
  const fit = fitLine(pressures.map((x) => ({ x, y: 4_000 + 400 * x, ux: 0, uy })))
  if (!fit.ok) throw new RangeError(fit.problem.message)
  return fit.value
}

describe('the next point of a calibration', () => {
  it('leaves what the line fitted with it has', () => {
    fc.assert(
      fc.property(
        fc
          .array(fc.integer({ min: 5, max: 90 }), { minLength: 3, maxLength: 8 })
          .filter((all) => new Set(all).size > 2),
        fc.integer({ min: 5, max: 90 }),
        (pressures, next) => {
          const promised = uWithPoint(line(pressures), next, uy * uy, 80)
          expect(promised).toBeCloseTo(predictWeight(line([...pressures, next]), 80).u, 6)
        },
      ),
    )
  })

  it('is near the limit where all points are light, and light where all are near the limit', () => {
    const light = bestNextPoint(line([14, 16, 18]), 12, 80, uy * uy)
    expect(light.psi).toBe(80)
    expect(light.uAfterLb).toBeLessThan(light.uNowLb / 4)
    const heavy = bestNextPoint(line([76, 79, 82]), 12, 60, uy * uy)
    expect(heavy.psi).toBeLessThan(61)
    expect(heavy.uAfterLb).toBeLessThan(heavy.uNowLb)
  })
})
