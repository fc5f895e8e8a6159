import type { LifeOutlook } from '#core/battery/risk.ts'

const daysPerYear = 365.25

/** What one sensor costs a year under a rule that swaps each cell at a fixed age, or when it dies before. */
export interface YearlyCost {
  /** Age in days at which a cell is swapped. */
  readonly swapAgeDays: number
  readonly cells: number
  /** Of these, those that died on the road: visits nobody planned. */
  readonly deaths: number
}

/**
 * Cells and deaths a sensor-year, by the renewal theorem: a cell stays E[min(T, s)] = ∫₀ˢ S(t) dt days and dies with
 * chance F(s), so a year takes 365.25 / E cells and F(s) times as many deaths. s is the age at which the risk of a
 * fresh cell reaches `risk` (0 to below 1). The integral by Simpson's rule on 64 parts.
 *
 * Source: age replacement, Barlow and Proschan, Mathematical Theory of Reliability (from memory).
 */
export function yearlyCost(outlook: LifeOutlook, risk: number): YearlyCost {
  const swapAgeDays = outlook.ageAtRisk(0, risk)
  const parts = 64
  let sum = 0
  for (let i = 0; i <= parts; i += 1)
    sum += (i === 0 || i === parts ? 1 : i % 2 === 1 ? 4 : 2) * (1 - outlook.risk(0, (swapAgeDays * i) / parts))
  const stays = (sum * swapAgeDays) / parts / 3
  const cells = daysPerYear / stays
  return { swapAgeDays, cells, deaths: cells * outlook.risk(0, swapAgeDays) }
}
