/** A function's value and slope at a point. */
export interface ValueAndSlope {
  readonly value: number
  readonly slope: number
}

/**
 * Where a rising function crosses zero between `low` and `high`: Newton's steps, each replaced by a bisection when it
 * would leave what is left of the bracket, so it always settles. Stops when a step is below `precision` (absolute) or
 * after 200 steps. A function above zero at `low` answers `low`, one below zero at `high` answers `high`.
 */
export function risingRoot(
  at: (x: number) => ValueAndSlope,
  low: number,
  high: number,
  precision: number,
  start = (low + high) / 2,
): number {
  if (at(low).value >= 0) return low
  if (at(high).value <= 0) return high
  let below = low
  let above = high
  let x = Math.min(Math.max(start, low), high)
  for (let step = 0; step < 200; step += 1) {
    const { value, slope } = at(x)
    if (value === 0) return x
    if (value < 0) below = x
    else above = x
    const newton = x - value / slope
    const next = newton > below && newton < above ? newton : (below + above) / 2
    if (Math.abs(next - x) <= precision) return next
    x = next
  }
  return x
}
