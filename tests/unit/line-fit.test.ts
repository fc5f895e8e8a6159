import { describe, expect, it } from 'vitest'
import { type Point, fitLine } from '#core/line/fit.ts'
import { fitted } from '#tests/unit/line-problems.ts'

const good: readonly Point[] = [
  { x: 12, y: 11_000, ux: 0.4, uy: 41 },
  { x: 48, y: 25_500, ux: 0.4, uy: 41 },
  { x: 70, y: 34_100, ux: 0.4, uy: 41 },
]
const withFirst = (change: Partial<Point>): Point[] =>
  good.map((point, i) => (i === 0 ? { ...point, ...change } : point))

function refusal(points: readonly Point[]) {
  const result = fitLine(points)
  if (result.ok) throw new Error('the points were accepted')
  return result.problem
}

describe('fitLine refuses by name', () => {
  it.each([[[]], [[good[0] as Point]]])('fewer than two points', (points) => {
    expect(refusal(points)).toMatchObject({
      code: 'too-few-points',
      field: 'points',
      value: String(points.length),
      accepted: 'two or more points',
    })
  })

  it.each(['x', 'y', 'ux', 'uy'] as const)('%s that is not finite, saying which point', (field) => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const problem = refusal(withFirst({ [field]: value }))
      expect(problem).toMatchObject({ code: 'not-finite', field, value: String(value) })
      expect(problem.message).toBe(`Point 1: ${field} is ${value}; a finite number is needed.`)
    }
  })

  it('a negative ux; zero is accepted', () => {
    expect(refusal(withFirst({ ux: -0.1 }))).toMatchObject({
      code: 'non-positive-uncertainty',
      field: 'ux',
      value: '-0.1',
    })
    expect(fitLine(withFirst({ ux: 0 })).ok).toBe(true)
  })

  it.each([0, -41])('uy of %d', (uy) => {
    expect(refusal(withFirst({ uy }))).toMatchObject({
      code: 'non-positive-uncertainty',
      field: 'uy',
      value: String(uy),
      accepted: 'more than zero',
    })
  })

  it('the same x everywhere', () => {
    expect(refusal(good.map((point) => ({ ...point, x: 55.5 })))).toMatchObject({
      code: 'identical-x',
      field: 'x',
      value: '55.5',
    })
  })

  it('the same y everywhere', () => {
    expect(refusal(good.map((point) => ({ ...point, y: 20_000 })))).toMatchObject({
      code: 'identical-y',
      field: 'y',
      value: '20000',
    })
  })

  it('points whose best line is level: no x can be read off it', () => {
    const level = [
      [1, 1],
      [2, 3],
      [3, 1],
    ].map(([x, y]) => ({ x: x as number, y: y as number, ux: 0, uy: 1 }))
    expect(refusal(level)).toMatchObject({ code: 'no-slope', field: 'points' })
  })

  it('points on which no slope settles: here the weights overflow', () => {
    expect(refusal(withFirst({ ux: 0, uy: 1e-200 })).code).toBe('no-convergence')
  })
})

describe('fitLine', () => {
  it('goes through two points exactly and says that it cannot check itself', () => {
    const fit = fitted([
      { x: 10, y: 9000, ux: 0.4, uy: 41 },
      { x: 60, y: 34_000, ux: 0.4, uy: 41 },
    ])
    expect(fit.b).toBeCloseTo(500, 9)
    expect(fit.a).toBeCloseTo(4000, 8)
    expect(fit).toMatchObject({ chi2: 0, dof: 0, chi2Limit95: null })
    // By hand: both points carry W = 1/(41² + 500²·0.4²) and lie 25 psi either side of their mean.
    const perPoint = 41 ** 2 + (500 * 0.4) ** 2
    expect(fit.uB).toBeCloseTo(Math.sqrt(perPoint / (2 * 25 ** 2)), 9)
    expect(fit.uA).toBeCloseTo(Math.sqrt(perPoint / 2 + (35 * fit.uB) ** 2), 8)
    expect(fit.covAB).toBeCloseTo(-35 * fit.uB ** 2, 8)
  })

  it('settles on points far from the origin, where their differences have few digits left', () => {
    // Found by random search: the weighted mean flickered in its last digit, and with it the slope, for ever.
    const far = [
      { x: 15_701_248.362688778, y: -18_384_560.76847905, ux: 0.10291066614219564, uy: 0.09999967552225586 },
      { x: 15_701_242.882429732, y: -18_384_554.561803777, ux: 0.1749800242386134, uy: 0.11238286493835274 },
      { x: 15_701_246.61570675, y: -18_384_558.037912235, ux: 0, uy: 0.4483776072557805 },
      { x: 15_701_246.312824573, y: -18_384_557.97663055, ux: 0.02606807288098812, uy: 0.19719155001467978 },
      { x: 15_701_245.657861242, y: -18_384_557.312546168, ux: 0.10842313190205154, uy: 0.17987013204060417 },
    ]
    const fit = fitted(far)
    const near = fitted(far.map((point) => ({ ...point, x: point.x - 15_701_245, y: point.y + 18_384_557 })))
    expect(Math.abs(fit.b / near.b - 1)).toBeLessThan(1e-12)
    expect(Math.abs(fit.uB / near.uB - 1)).toBeLessThan(1e-12)
    expect(Math.abs(fit.chi2 / near.chi2 - 1)).toBeLessThan(1e-12)
  })

  it('fits kPa and kg to the same line as psi and lb', () => {
    const metric = fitted(
      good.map(({ x, y, ux, uy }) => ({
        x: x * 6.894757293168361,
        y: y * 0.45359237,
        ux: ux * 6.894757293168361,
        uy: uy * 0.45359237,
      })),
    )
    const imperial = fitted(good)
    expect(metric.b / (0.45359237 / 6.894757293168361)).toBeCloseTo(imperial.b, 8)
    expect(metric.a / 0.45359237).toBeCloseTo(imperial.a, 6)
    expect(metric.chi2).toBeCloseTo(imperial.chi2, 9)
  })

  it('leaves its input alone', () => {
    const copy = structuredClone(good)
    fitted(good)
    expect(good).toEqual(copy)
  })
})
