/** A symmetric matrix, row after row, n × n. */
export type Matrix = Float64Array

/** Lower triangle L of a symmetric positive definite matrix, A = L Lᵀ, or undefined where it is not one. */
export function cholesky(a: Matrix, n: number): Matrix | undefined {
  const l = new Float64Array(n * n)
  for (let i = 0; i < n; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = a[i * n + j] as number
      for (let k = 0; k < j; k += 1) sum -= (l[i * n + k] as number) * (l[j * n + k] as number)
      if (i > j) l[i * n + j] = sum / (l[j * n + j] as number)
      else if (sum > 0) l[i * n + i] = Math.sqrt(sum)
      else return undefined
    }
  }
  return l
}

/** Solves L Lᵀ x = b. */
export function solveWith(l: Matrix, n: number, b: Float64Array): Float64Array {
  const x = Float64Array.from(b)
  for (let i = 0; i < n; i += 1) {
    let sum = x[i] as number
    for (let k = 0; k < i; k += 1) sum -= (l[i * n + k] as number) * (x[k] as number)
    x[i] = sum / (l[i * n + i] as number)
  }
  for (let i = n - 1; i >= 0; i -= 1) {
    let sum = x[i] as number
    for (let k = i + 1; k < n; k += 1) sum -= (l[k * n + i] as number) * (x[k] as number)
    x[i] = sum / (l[i * n + i] as number)
  }
  return x
}

/** Inverse of L Lᵀ, column by column. */
export function inverseOf(l: Matrix, n: number): Matrix {
  const inverse = new Float64Array(n * n)
  for (let j = 0; j < n; j += 1) {
    const unit = new Float64Array(n)
    unit[j] = 1
    const column = solveWith(l, n, unit)
    for (let i = 0; i < n; i += 1) inverse[i * n + j] = column[i] as number
  }
  return inverse
}
