import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Point } from '#core/line/fit.ts'
import { fullCovariance, minimaOverSlope } from '#tests/unit/independent-minimum.ts'
import { fitted, problems, truckShape } from '#tests/unit/line-problems.ts'

const relative = (actual: number, expected: number, size = Math.abs(expected)) => Math.abs(actual - expected) / size

/**
 * The independent minimiser must agree with the fit to 1e-8; so must the full normal matrix, to 1e-6: where y is nearly
 * exact its own condition costs it half its digits.
 */
function expectLeastChi2(points: readonly Point[]): void {
  const fit = fitted(points)
  const [best] = minimaOverSlope(points)
  if (!best) throw new Error('the scan found no minimum')
  const { varA, varB, covAB } = fullCovariance(points, fit.a, fit.b)
  expect(relative(fit.b, best.b)).toBeLessThan(1e-8)
  expect(relative(fit.a, best.a, Math.abs(best.a) + fit.uA)).toBeLessThan(1e-8)
  // Two points have a line through both, whose chi² is rounding alone.
  expect(Math.abs(fit.chi2 - (fit.dof > 0 ? best.chi2 : 0))).toBeLessThan(1e-8 * (1 + best.chi2))
  expect(relative(fit.uA, Math.sqrt(varA))).toBeLessThan(1e-6)
  expect(relative(fit.uB, Math.sqrt(varB))).toBeLessThan(1e-6)
  expect(relative(fit.covAB, covAB, fit.uA * fit.uB)).toBeLessThan(1e-6)
}

describe('the fit has the least chi² of all lines, and the covariance of the whole problem', () => {
  const shapes = {
    trucks: truckShape,
    'x uncertain, y nearly exact': { ...truckShape, ux: [0.2, 3], uyAsX: [1e-3, 1e-2] },
    'y uncertain, x nearly exact': { ...truckShape, ux: [1e-3, 1e-2], uyAsX: [0.2, 3] },
    'very steep': { ...truckShape, slope: [1e6, 1e9] },
    'very flat': { ...truckShape, slope: [0.01, 1] },
    'uncertainties of four decades': { ...truckShape, ux: [1e-4, 1], uyAsX: [1e-4, 1] },
  } as const
  it.each(Object.entries(shapes))('%s', (_, shape) => {
    fc.assert(
      fc.property(problems(shape), ({ noisy }) => expectLeastChi2(noisy)),
      { numRuns: 60 },
    )
  })

  it('some x exact, others not', () => {
    fc.assert(
      fc.property(problems(), fc.array(fc.boolean(), { minLength: 12, maxLength: 12 }), ({ noisy }, exact) =>
        expectLeastChi2(noisy.map((point, i) => (exact[i] ? { ...point, ux: 0 } : point))),
      ),
      { numRuns: 60 },
    )
  })

  it('pressures close together: the span is a thousandth of a psi', () => {
    fc.assert(
      fc.property(problems(), ({ noisy }) =>
        expectLeastChi2(noisy.map(({ x, y, ux, uy }) => ({ x: x * 1e-5, y, ux: ux * 1e-5, uy }))),
      ),
      { numRuns: 60 },
    )
  })
})
