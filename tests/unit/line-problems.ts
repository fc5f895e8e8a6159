import fc from 'fast-check'
import { type Fit, type Point, fitLine } from '#core/line/fit.ts'

/** A line that is known, points on it, and the same points with errors within twice their declared uncertainties. */
export interface Problem {
  readonly a: number
  readonly b: number
  readonly exact: readonly Point[]
  readonly noisy: readonly Point[]
}

interface Shape {
  /** Low and high slope, lb/psi. */
  readonly slope: readonly [number, number]
  /** Low and high standard uncertainty of x, psi, and of y as a pressure, psi. */
  readonly ux: readonly [number, number]
  readonly uyAsX: readonly [number, number]
}

const between = (min: number, max: number) => fc.double({ min, max, noNaN: true })

/** What trucks give: hundreds of lb a psi, tenths of a psi, tens of lb. */
export const truckShape: Shape = { slope: [100, 900], ux: [0.05, 2], uyAsX: [0.05, 2] }

/** Two to twelve points with unequal uncertainties in both coordinates, spread over at least 40 of 100 psi. */
export function problems({ slope, ux, uyAsX }: Shape = truckShape): fc.Arbitrary<Problem> {
  const errors = between(-2, 2)
  const point = fc.record({
    place: between(0, 1),
    ux: between(...ux),
    uyAsX: between(...uyAsX),
    errorX: errors,
    errorY: errors,
  })
  return fc
    .record({
      a: between(-5000, 5000),
      b: between(...slope),
      falling: fc.boolean(),
      low: between(5, 30),
      high: between(70, 110),
      points: fc.array(point, { minLength: 2, maxLength: 12 }),
    })
    .map(({ a, b: size, falling, low, high, points }) => {
      const b = falling ? -size : size
      const places = points.map(({ place }, i) => (i === 0 ? 0 : i === 1 ? 1 : place))
      const exact = points.map((each, i) => {
        const x = low + (places[i] as number) * (high - low)
        return { x, y: a + b * x, ux: each.ux, uy: size * each.uyAsX }
      })
      const noisy = exact.map((each, i) => {
        const { errorX, errorY } = points[i] as (typeof points)[number]
        return { ...each, x: each.x + each.ux * errorX, y: each.y + each.uy * errorY }
      })
      return { a, b, exact, noisy }
    })
}

/** Fits, or fails the test with the refusal's sentence. */
export function fitted(points: readonly Point[]): Fit {
  const result = fitLine(points)
  if (!result.ok) throw new Error(`${result.problem.code}: ${result.problem.message}`)
  return result.value
}
