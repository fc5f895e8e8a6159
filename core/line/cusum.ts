/** The two sums of a tabular CUSUM, in the unit of the deviations fed to it. */
export interface CusumSums {
  readonly high: number
  readonly low: number
}

export const cusumStart: CusumSums = { high: 0, low: 0 }

/**
 * One step of the two-sided tabular CUSUM: high = max(0, high + d - k), low = max(0, low - d - k), where d is the
 * deviation from target and k the slack. An alarm is a sum above the decision limit h.
 *
 * Units: d, k and the sums share one; for standardised deviations it is the standard deviation.
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.
 */
export function cusumStep(sums: CusumSums, deviation: number, slack: number): CusumSums {
  return { high: Math.max(0, sums.high + deviation - slack), low: Math.max(0, sums.low - deviation - slack) }
}

function oneSided(shift: number, slack: number, limit: number): number {
  const delta = shift - slack
  const b = limit + 1.166
  if (Math.abs(delta) < 1e-9) return b * b
  return (Math.exp(-2 * delta * b) + 2 * delta * b - 1) / (2 * delta * delta)
}

/**
 * Average run length of the two-sided CUSUM of independent standard normal deviations under a constant shift: how many
 * checks, on average, until it alarms. At shift 0 it is the run to a false alarm: about 9,600 for k = 0.5, h = 8.
 *
 * Units: shift, k, h in standard deviations. Precision: a few percent (Siegmund's approximation).
 * Source: D. Siegmund, Sequential Analysis (1985), with 1/ARL adding up over the two sides (from memory).
 */
export function averageRunLength(shift: number, slack: number, limit: number): number {
  return 1 / (1 / oneSided(shift, slack, limit) + 1 / oneSided(-shift, slack, limit))
}
