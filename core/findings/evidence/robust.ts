/** Median of a list, which is not changed; NaN of an empty one. */
export function median(values: readonly number[]): number {
  if (values.length === 0) return Number.NaN
  const sorted = Float64Array.from(values).sort()
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1
    ? (sorted[middle] as number)
    : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2
}

/** Standard deviation as the median distance from the median tells it: 1.4826 × MAD, that of a normal sample. */
export function robustSpread(values: readonly number[], centre = median(values)): number {
  return 1.4826 * median(values.map((value) => Math.abs(value - centre)))
}
