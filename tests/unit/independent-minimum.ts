import type { Point } from '#core/line/fit.ts'

/**
 * A second way to the line, sharing nothing with York's iteration: for a given slope the best intercept is known, so
 * chi² becomes a curve over the slope. Its derivative is scanned over all directions and bisected to the last bit.
 */
function slopeDerivative(
  points: readonly Point[],
  b: number,
): { chi2: number; derivative: number; meanX: number; meanY: number } {
  let sumW = 0
  let sumX = 0
  let sumY = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy ** 2 + (b * ux) ** 2)
    sumW += w
    sumX += w * x
    sumY += w * y
  }
  const meanX = sumX / sumW
  const meanY = sumY / sumW
  let chi2 = 0
  let derivative = 0
  for (const { x, y, ux, uy } of points) {
    const w = 1 / (uy ** 2 + (b * ux) ** 2)
    const residual = y - meanY - b * (x - meanX)
    chi2 += w * residual ** 2
    derivative -= 2 * w * residual * (x - meanX) + 2 * b * (ux * w * residual) ** 2
  }
  return { chi2, derivative, meanX, meanY }
}

function bisect(points: readonly Point[], from: number, to: number): number {
  let low = from
  let high = to
  for (let step = 0; step < 200; step += 1) {
    const middle = (low + high) / 2
    if (middle === low || middle === high) break
    if (slopeDerivative(points, middle).derivative < 0) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** Every minimum of chi² over the slope, lowest first. Points must be near the origin: they are not centred here. */
export function minimaOverSlope(points: readonly Point[], directions = 2000): { a: number; b: number; chi2: number }[] {
  const xs = points.map(({ x }) => x)
  const ys = points.map(({ y }) => y)
  const steepness = (Math.max(...ys) - Math.min(...ys)) / (Math.max(...xs) - Math.min(...xs))
  const slopeAt = (i: number) => steepness * Math.tan(Math.PI * (i / directions - 0.5))
  const minima = []
  for (let i = 1; i < directions - 1; i += 1) {
    const from = slopeAt(i)
    const to = slopeAt(i + 1)
    if (!(slopeDerivative(points, from).derivative < 0 && slopeDerivative(points, to).derivative >= 0)) continue
    const b = bisect(points, from, to)
    const { chi2, meanX, meanY } = slopeDerivative(points, b)
    minima.push({ a: meanY - b * meanX, b, chi2 })
  }
  return minima.sort((one, other) => one.chi2 - other.chi2)
}

/** Inverse of a symmetric positive definite matrix by Gauss-Jordan elimination, its diagonal scaled to 1 beforehand. */
function inverse(matrix: readonly (readonly number[])[]): number[][] {
  const size = matrix.length
  const scale = matrix.map((row, i) => 1 / Math.sqrt(row[i] as number))
  const rows = matrix.map((row, i) => [
    ...row.map((value, j) => value * (scale[i] as number) * (scale[j] as number)),
    ...Array.from({ length: size }, (_, j) => (i === j ? 1 : 0)),
  ])
  for (let pivot = 0; pivot < size; pivot += 1) {
    const row = rows[pivot] as number[]
    const lead = row[pivot] as number
    for (let j = 0; j < 2 * size; j += 1) row[j] = (row[j] as number) / lead
    for (let i = 0; i < size; i += 1) {
      if (i === pivot) continue
      const other = rows[i] as number[]
      const factor = other[pivot] as number
      for (let j = 0; j < 2 * size; j += 1) other[j] = (other[j] as number) - factor * (row[j] as number)
    }
  }
  return rows.map((row, i) => row.slice(size).map((value, j) => value * (scale[i] as number) * (scale[j] as number)))
}

/**
 * Covariance of a and b from the whole problem: unknowns a, b and every true x with a positive ux, observations x and
 * y, the normal matrix of the linearised model at the solution, inverted (ISO/TS 28037:2010, clause 7, without its
 * shortcuts). York's formulas must give the same.
 */
export function fullCovariance(
  points: readonly Point[],
  a: number,
  b: number,
): { varA: number; varB: number; covAB: number } {
  const uncertain = points.filter(({ ux }) => ux > 0)
  const size = 2 + uncertain.length
  const normal = Array.from({ length: size }, () => new Array<number>(size).fill(0))
  const observe = (gradient: ReadonlyMap<number, number>, u: number) => {
    for (const [i, one] of gradient)
      for (const [j, other] of gradient)
        (normal[i] as number[])[j] = ((normal[i] as number[])[j] as number) + (one * other) / u ** 2
  }
  for (const point of points) {
    const { x, y, ux, uy } = point
    if (ux === 0) {
      observe(
        new Map([
          [0, 1],
          [1, x],
        ]),
        uy,
      )
      continue
    }
    const unknown = 2 + uncertain.indexOf(point)
    const adjustedX = x + (b * ux ** 2 * (y - a - b * x)) / (uy ** 2 + (b * ux) ** 2)
    observe(new Map([[unknown, 1]]), ux)
    observe(
      new Map([
        [0, 1],
        [1, adjustedX],
        [unknown, b],
      ]),
      uy,
    )
  }
  const covariance = inverse(normal)
  return { varA: covariance[0]?.[0] as number, varB: covariance[1]?.[1] as number, covAB: covariance[0]?.[1] as number }
}
