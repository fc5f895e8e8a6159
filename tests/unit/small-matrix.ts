/** Plain matrices for checks by another way: slow, with pivots, sharing nothing with the code under test. */
export type Matrix = readonly (readonly number[])[]

const cell = (matrix: Matrix, i: number, j: number): number => matrix[i]?.[j] ?? Number.NaN

export const matrix = (rows: number, columns: number, value: (i: number, j: number) => number): Matrix =>
  Array.from({ length: rows }, (_, i) => Array.from({ length: columns }, (__, j) => value(i, j)))

export const transposed = (a: Matrix): Matrix => matrix(a[0]?.length ?? 0, a.length, (i, j) => cell(a, j, i))

export const times = (a: Matrix, b: Matrix): Matrix =>
  matrix(a.length, b[0]?.length ?? 0, (i, j) => (a[i] ?? []).reduce((sum, x, k) => sum + x * cell(b, k, j), 0))

export const minus = (a: Matrix, b: Matrix): Matrix =>
  matrix(a.length, a[0]?.length ?? 0, (i, j) => cell(a, i, j) - cell(b, i, j))

/** Inverse and determinant by Gauss and Jordan. */
export function inverse(a: Matrix): { readonly inverse: Matrix; readonly determinant: number } {
  const size = a.length
  let work = matrix(size, 2 * size, (i, j) => (j < size ? cell(a, i, j) : j - size === i ? 1 : 0))
  let determinant = 1
  for (let k = 0; k < size; k += 1) {
    let pivot = k
    for (let i = k + 1; i < size; i += 1) if (Math.abs(cell(work, i, k)) > Math.abs(cell(work, pivot, k))) pivot = i
    const swapped = work.with(k, work[pivot] ?? []).with(pivot, work[k] ?? [])
    const lead = cell(swapped, k, k)
    determinant *= pivot === k ? lead : -lead
    work = matrix(size, 2 * size, (i, j) =>
      i === k ? cell(swapped, k, j) / lead : cell(swapped, i, j) - (cell(swapped, i, k) / lead) * cell(swapped, k, j),
    )
  }
  return { inverse: work.map((row) => row.slice(size)), determinant }
}
