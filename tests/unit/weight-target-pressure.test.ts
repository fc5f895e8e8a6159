import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Line } from '#core/line/fit.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { type PressureReader, loadTo, pressureReader, targetPressurePsi } from '#core/weight/target-pressure.ts'
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

/** Reads pressures by a line alone, each good to a standard uncertainty. */
const readerOf = (known: Line, uPsi: number): PressureReader => {
  const reader = pressureReader(prepareGroup(driveGroup(), terms()), spring, null)
  if ('reason' in reader) throw new Error(reader.reason)
  return {
    ...reader,
    weightOf: (psi) => {
      const { value, u } = predictWeight(known, psi, uPsi)
      return { weightLb: value, ownVarLb2: u * u, gains: [], follows: null }
    },
  }
}

describe('target pressure', () => {
  it('is the highest pressure that is still under: the next thousandth of a psi is not', () => {
    fc.assert(
      fc.property(
        line,
        fc.double({ min: 0, max: 2, noNaN: true }),
        fc.double({ min: 75, max: 99.9, noNaN: true }),
        (known, uPsi, percent) => {
          const psi = targetPressurePsi(readerOf(known, uPsi), 34_000, percent)
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
        expect(targetPressurePsi(readerOf(exact, 0), 34_000, 95)).toBeCloseTo(pressureAtWeight(exact, 34_000).value, 6)
        const [surer, sure] = [99, 90].map(
          (percent) => targetPressurePsi(readerOf(known, uPsi), 34_000, percent) as number,
        )
        expect(surer).toBeLessThan(sure as number)
      }),
    )
  })

  it('is unknown where the line is too uncertain to load by or runs the wrong way', () => {
    expect(targetPressurePsi(readerOf({ a: 0, b: 500, uA: 30_000, uB: 0, covAB: 0 }, 0.4), 34_000, 95)).toBeUndefined()
    expect(
      targetPressurePsi(readerOf({ a: 40_000, b: -500, uA: 10, uB: 0, covAB: 0 }, 0.4), 34_000, 95),
    ).toBeUndefined()
    expect(targetPressurePsi(readerOf({ a: 40_000, b: 500, uA: 10, uB: 0, covAB: 0 }, 0.4), 34_000, 95)).toBeUndefined()
  })

  it('meets the verdict of a reading taken at it, wander included', () => {
    const group = prepareGroup(driveGroup(), terms({ wanderOf: () => (psi, days) => days * (10 + psi) }))
    const at = spring + 90 * dayMs
    const found = loadTo(group, 34_000, 95, at, null)
    if ('why' in found) throw new Error(found.why[0])
    const { psi } = found
    const roomAt = (pressure: number) => {
      const weighing = weighGroup(group, observation({ takenAt: at, psi: [pressure] }))
      if (!weighing.weighed) throw new Error(weighing.reason)
      return judgeWeight(weighing.weightLb, weighing.uLb, 34_000, 95).roomLb
    }
    expect(roomAt(psi)).toBeCloseTo(0, 3)
    expect(roomAt(psi - 1)).toBeGreaterThan(0)
    const early = loadTo(group, 34_000, 95, spring, null)
    expect('psi' in early && early.psi).toBeGreaterThan(psi)
  })
})
