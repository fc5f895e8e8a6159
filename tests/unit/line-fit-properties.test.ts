import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Fit, type Line, type Point, fitLine } from '#core/line/fit.ts'
import { predictWeight } from '#core/line/predict.ts'
import { fitted, problems } from '#tests/unit/line-problems.ts'

const factor = fc.double({ min: 1e-3, max: 1e3, noNaN: true })
const relative = (actual: number, expected: number, size = Math.abs(expected)) => Math.abs(actual - expected) / size

/** The same line: coefficients to 1e-9 of their own uncertainty or size, whichever is larger. */
function expectSameLine(actual: Fit, expected: Line & { chi2: number }): void {
  expect(relative(actual.b, expected.b)).toBeLessThan(1e-9)
  expect(relative(actual.a, expected.a, Math.abs(expected.a) + expected.uA)).toBeLessThan(1e-9)
  expect(relative(actual.uA, expected.uA)).toBeLessThan(1e-9)
  expect(relative(actual.uB, expected.uB)).toBeLessThan(1e-9)
  expect(relative(actual.covAB, expected.covAB, expected.uA * expected.uB)).toBeLessThan(1e-9)
  expect(Math.abs(actual.chi2 - expected.chi2)).toBeLessThan(1e-9 * (1 + expected.chi2))
}

describe('the fitted line', () => {
  it('is the line that exact points lie on', () => {
    fc.assert(
      fc.property(problems(), ({ a, b, exact }) => {
        const fit = fitted(exact)
        expect(relative(fit.b, b)).toBeLessThan(1e-11)
        expect(relative(fit.a, a, Math.abs(a) + 100 * Math.abs(b))).toBeLessThan(1e-11)
        expect(fit.chi2).toBeLessThan(1e-12)
        expect(fit.dof).toBe(exact.length - 2)
      }),
    )
  })

  it('scales with x and with y', () => {
    fc.assert(
      fc.property(problems(), factor, factor, ({ noisy }, k, m) => {
        const fit = fitted(noisy)
        const scaled = fitted(noisy.map(({ x, y, ux, uy }) => ({ x: k * x, y: m * y, ux: k * ux, uy: m * uy })))
        expectSameLine(scaled, {
          a: m * fit.a,
          b: (m / k) * fit.b,
          uA: m * fit.uA,
          uB: (m / k) * fit.uB,
          covAB: ((m * m) / k) * fit.covAB,
          chi2: fit.chi2,
        })
      }),
    )
  })

  it('turns over with x and with y', () => {
    fc.assert(
      fc.property(problems(), ({ noisy }) => {
        const fit = fitted(noisy)
        expectSameLine(fitted(noisy.map((point) => ({ ...point, x: -point.x }))), {
          ...fit,
          b: -fit.b,
          covAB: -fit.covAB,
        })
        expectSameLine(fitted(noisy.map((point) => ({ ...point, y: -point.y }))), { ...fit, a: -fit.a, b: -fit.b })
      }),
    )
  })

  it('moves with x and with y', () => {
    const shift = fc.double({ min: -1000, max: 1000, noNaN: true })
    fc.assert(
      fc.property(problems(), shift, shift, ({ noisy }, dx, dy) => {
        const fit = fitted(noisy)
        const moved = fitted(noisy.map((point) => ({ ...point, x: point.x + dx, y: point.y + dy })))
        expectSameLine(
          {
            ...moved,
            a: moved.a + moved.b * dx - dy,
            uA: predictWeight(moved, dx).u,
            covAB: moved.covAB + dx * moved.uB ** 2,
          },
          fit,
        )
      }),
    )
  })

  it('settles wherever the origin lies', () => {
    const offset = fc
      .tuple(fc.integer({ min: 3, max: 9 }), fc.boolean())
      .map(([power, below]) => (below ? -1 : 1) * 10 ** power)
    fc.assert(
      fc.property(problems(), offset, offset, ({ noisy }, dx, dy) => {
        const moved = noisy.map((point) => ({ ...point, x: point.x + dx, y: point.y + dy }))
        // The sums above are rounded: the same rounded points, moved back exactly, are what the fit must agree on.
        const back = moved.map((point) => ({ ...point, x: point.x - dx, y: point.y - dy }))
        const fit = fitted(moved)
        const near = fitted(back)
        expect(relative(fit.b, near.b)).toBeLessThan(1e-10)
        expect(relative(fit.uB, near.uB)).toBeLessThan(1e-10)
        expect(Math.abs(fit.chi2 - near.chi2)).toBeLessThan(1e-8 * (1 + near.chi2))
      }),
    )
  })

  it('does not depend on the order of the points', () => {
    const shuffled = problems().chain(({ noisy }) =>
      fc.shuffledSubarray([...noisy], { minLength: noisy.length }).map((order) => ({ noisy, order })),
    )
    fc.assert(fc.property(shuffled, ({ noisy, order }) => expectSameLine(fitted(order), fitted(noisy))))
  })

  it('does not change when every uncertainty is multiplied; its own uncertainties do', () => {
    fc.assert(
      fc.property(problems(), factor, ({ noisy }, k) => {
        const fit = fitted(noisy)
        const wider = fitted(noisy.map((point) => ({ ...point, ux: k * point.ux, uy: k * point.uy })))
        expectSameLine(
          { ...wider, a: fit.a, chi2: wider.chi2 * k * k },
          { ...fit, uA: k * fit.uA, uB: k * fit.uB, covAB: k * k * fit.covAB },
        )
        expect(relative(wider.a, fit.a, Math.abs(fit.a) + fit.uA)).toBeLessThan(1e-9)
      }),
    )
  })

  it('counts a point given twice as one of half the variance', () => {
    fc.assert(
      fc.property(problems(), ({ noisy }) => {
        const [first, ...rest] = noisy as [Point, ...Point[]]
        const half = { ...first, ux: first.ux / Math.SQRT2, uy: first.uy / Math.SQRT2 }
        expectSameLine(fitted([first, first, ...rest]), {
          ...fitted([half, ...rest]),
          ...(rest.length === 1 ? { chi2: 0 } : {}),
        })
      }),
    )
  })

  it('is the same with x and y exchanged: a distance has no favourite axis', () => {
    fc.assert(
      fc.property(problems(), ({ noisy }) => {
        const fit = fitted(noisy)
        const turned = fitted(noisy.map(({ x, y, ux, uy }) => ({ x: y, y: x, ux: uy, uy: ux })))
        expect(relative(1 / turned.b, fit.b)).toBeLessThan(1e-9)
        expect(relative(-turned.a / turned.b, fit.a, Math.abs(fit.a) + fit.uA)).toBeLessThan(1e-9)
        expect(Math.abs(turned.chi2 - fit.chi2)).toBeLessThan(1e-9 * (1 + fit.chi2))
      }),
    )
  })
})

describe('absurd magnitudes', () => {
  it('are refused or answered in finite numbers, never with NaN or infinity', () => {
    const decade = fc.integer({ min: -300, max: 300 }).map((power) => 10 ** power)
    const point = fc.record({
      x: fc.double({ min: -1, max: 1, noNaN: true }),
      y: fc.double({ min: -1, max: 1, noNaN: true }),
      ux: fc.oneof(fc.constant(0), decade),
      uy: decade,
    })
    fc.assert(
      fc.property(fc.array(point, { minLength: 2, maxLength: 6 }), decade, decade, (points, sizeX, sizeY) => {
        const result = fitLine(points.map(({ x, y, ux, uy }) => ({ x: x * sizeX, y: y * sizeY, ux, uy })))
        if (!result.ok) return
        const { a, b, uA, uB, covAB, chi2 } = result.value
        for (const value of [a, b, uA, uB, covAB, chi2]) expect(Number.isFinite(value)).toBe(true)
      }),
      { numRuns: 3000 },
    )
  })
})

describe('uncertainty', () => {
  it('never shrinks when that of a point grows, on points that lie on a line', () => {
    const grown = problems().chain(({ exact }) =>
      fc.record({
        exact: fc.constant(exact),
        i: fc.nat(exact.length - 1),
        kx: fc.double({ min: 1, max: 100, noNaN: true }),
        ky: fc.double({ min: 1, max: 100, noNaN: true }),
      }),
    )
    fc.assert(
      fc.property(grown, fc.double({ min: -50, max: 150, noNaN: true }), ({ exact, i, kx, ky }, psi) => {
        const before = fitted(exact)
        const after = fitted(
          exact.map((point, j) => (i === j ? { ...point, ux: kx * point.ux, uy: ky * point.uy } : point)),
        )
        expect(after.uA).toBeGreaterThanOrEqual(before.uA * (1 - 1e-9))
        expect(after.uB).toBeGreaterThanOrEqual(before.uB * (1 - 1e-9))
        expect(predictWeight(after, psi).u).toBeGreaterThanOrEqual(predictWeight(before, psi).u * (1 - 1e-6))
      }),
    )
  })

  it('never grows when a point on the line is added', () => {
    fc.assert(
      fc.property(problems(), fc.double({ min: 5, max: 110, noNaN: true }), ({ a, b, exact }, x) => {
        const before = fitted(exact)
        const after = fitted([...exact, { x, y: a + b * x, ux: 0.4, uy: Math.abs(b) * 0.2 }])
        expect(after.uA).toBeLessThanOrEqual(before.uA * (1 + 1e-9))
        expect(after.uB).toBeLessThanOrEqual(before.uB * (1 + 1e-9))
      }),
    )
  })

  it('is a covariance: cov² never exceeds the product of the variances', () => {
    fc.assert(
      fc.property(problems(), ({ noisy }) => {
        const { uA, uB, covAB } = fitted(noisy)
        expect(Math.abs(covAB)).toBeLessThanOrEqual(uA * uB * (1 + 1e-12))
      }),
    )
  })
})
