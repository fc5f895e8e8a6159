/**
 * Whether a figure keeps a tolerance around 0, given its standard uncertainty: sure only when its whole 95 % interval
 * agrees.
 */
export function toleranceVerdict(
  value: number,
  u: number,
  tolerance: number,
): 'within tolerance' | 'beyond tolerance' | 'too close to call' {
  if (Math.abs(value) + 2 * u <= tolerance) return 'within tolerance'
  return Math.abs(value) - 2 * u > tolerance ? 'beyond tolerance' : 'too close to call'
}
