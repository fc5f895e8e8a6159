import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Line } from '#core/line/fit.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { groupTargetPsi, targetPressurePsi } from '#core/weight/target-pressure.ts'
import { judgeWeight } from '#core/weight/verdict.ts'
import { prepareGroup, weighGroup } from '#core/weight/weigh.ts'
import { dayMs, driveGroup, observation, spring, terms } from '#tests/unit/weight-fleet.ts'

/** Lines as a calibration gives them: known well somewhere between empty and full. */
const line: fc.Arbitrary<Line> = fc
  .record({
    a: fc.double({ min: -2000, max: 5000, noNaN: true }),
    b: fc.double({ min: 200, max: 700, noNaN: true }),
    uMiddle: fc.double({ min: 0, max: 200, noNaN: true }),
    uB: fc.double({ min: 0, max: 8, noNaN: true }),
    middle: fc.double({ min: 20, max: 60, noNaN: true }),
  })
  .map(({ a, b, uMiddle, uB, middle }) => ({
    a,
    b,
    uA: Math.hypot(uMiddle, middle * uB),
    uB,
    covAB: -middle * uB * uB,
  }))

describe('target pressure', () => {
  it('is the highest pressure that is still under: the next thousandth of a psi is not', () => {
    fc.assert(
      fc.property(
        line,
        fc.double({ min: 0, max: 2, noNaN: true }),
        fc.double({ min: 75, max: 99.9, noNaN: true }),
        (known, uPsi, percent) => {
          const psi = targetPressurePsi(known, 34_000, percent, uPsi)
          expect(psi).toBeDefined()
          const verdictAt = (at: number) => {
            const { value, u } = predictWeight(known, at, uPsi)
            return judgeWeight(value, u, 34_000, percent).verdict
          }
          expect(verdictAt((psi as number) - 1e-6)).toBe('under')
          expect(verdictAt((psi as number) + 1e-3)).not.toBe('under')
        },
      ),
    )
  })

  it('is the pressure at the limit when nothing is uncertain and lower the surer one wants to be', () => {
    fc.assert(
      fc.property(line, fc.double({ min: 0.1, max: 2, noNaN: true }), (known, uPsi) => {
        const exact = { ...known, uA: 0, uB: 0, covAB: 0 }
        expect(targetPressurePsi(exact, 34_000, 95, 0)).toBeCloseTo(pressureAtWeight(exact, 34_000).value, 8)
        const [surer, sure] = [99, 90].map((percent) => targetPressurePsi(known, 34_000, percent, uPsi) as number)
        expect(surer).toBeLessThan(sure as number)
      }),
    )
  })

  it('is unknown where the line is too uncertain to load by or runs the wrong way', () => {
    expect(targetPressurePsi({ a: 0, b: 500, uA: 30_000, uB: 0, covAB: 0 }, 34_000, 95, 0.4)).toBeUndefined()
    expect(targetPressurePsi({ a: 40_000, b: -500, uA: 10, uB: 0, covAB: 0 }, 34_000, 95, 0.4)).toBeUndefined()
    expect(targetPressurePsi({ a: 40_000, b: 500, uA: 10, uB: 0, covAB: 0 }, 34_000, 95, 0.4)).toBeUndefined()
  })

  it('meets the verdict of a reading taken at it, wander included', () => {
    const group = prepareGroup(driveGroup(), terms({ wanderOf: () => (psi, days) => days * (10 + psi) }))
    const at = spring + 90 * dayMs
    const [known] = group.lines
    if (!known) throw new Error('the group has no line')
    const psi = groupTargetPsi(group, known, 34_000, 95, at) as number
    const roomAt = (pressure: number) => {
      const weighing = weighGroup(group, observation({ takenAt: at, psi: [pressure] }))
      if (!weighing.weighed) throw new Error(weighing.reason)
      return judgeWeight(weighing.weightLb, weighing.uLb, 34_000, 95).roomLb
    }
    expect(roomAt(psi)).toBeCloseTo(0, 5)
    expect(roomAt(psi - 1)).toBeGreaterThan(0)
    expect(groupTargetPsi(group, known, 34_000, 95, spring)).toBeGreaterThan(psi)
  })
})
