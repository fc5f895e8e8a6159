/**
 * What "95 %" means wherever a value is told with ±: the expanded uncertainty U = k u with k = 2 (JCGM 100:2008 (GUM)
 * 6.2 and G.6.6). Tests at another confidence take the normal quantile instead.
 */
export const coverageFactor = 2

/** The half-width of the 95 % interval of a value with this standard uncertainty, in the same unit. */
export const expanded = (u: number): number => coverageFactor * u

/**
 * Whether a figure keeps a tolerance around 0, given its standard uncertainty: sure only when its whole 95 % interval
 * agrees.
 */
export function toleranceVerdict(
  value: number,
  u: number,
  tolerance: number,
): 'within tolerance' | 'beyond tolerance' | 'too close to call' {
  if (Math.abs(value) + expanded(u) <= tolerance) return 'within tolerance'
  return Math.abs(value) - expanded(u) > tolerance ? 'beyond tolerance' : 'too close to call'
}
