import { dayOf } from '#core/fleet/instant.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { LifeModel, StratumLaw } from '#core/battery/life-model.ts'
import type { CellLife } from '#core/battery/lives.ts'
import { type LifeOutlook, lifeOutlook } from '#core/battery/risk.ts'

/** What swapping cost and what it spared in one UTC month. */
export interface SwapMonth {
  /** YYYY-MM. */
  readonly month: string
  /** Cells taken out alive: scheduled, low, new or unknown. */
  readonly swaps: number
  /** Deaths suffered. */
  readonly deaths: number
  /** Expected number of the swapped cells that would have died had they stayed for one more visit interval. */
  readonly deathsAvoided: number
}

/**
 * Swaps made, deaths suffered and deaths avoided by month, oldest first; months without either are left out. A cell
 * swapped alive at age a would have died before the next visit with chance 1 - S(a + v)/S(a), v the House Rules' visit
 * interval.
 */
export function swapsByMonth(lives: readonly CellLife[], model: LifeModel, rules: HouseRules): SwapMonth[] {
  const outlooks = new Map<StratumLaw, LifeOutlook>()
  const months = new Map<string, { swaps: number; deaths: number; deathsAvoided: number }>()
  for (const life of lives) {
    if (life.endedBy === 'in service' || life.endedBy === 'removed') continue
    const month = dayOf(life.endedAt).slice(0, 7)
    const sum = months.get(month) ?? { swaps: 0, deaths: 0, deathsAvoided: 0 }
    months.set(month, sum)
    if (life.died) {
      sum.deaths += 1
      continue
    }
    sum.swaps += 1
    const law = model.lawFor(life)
    if (law === undefined) continue
    const outlook = outlooks.get(law) ?? lifeOutlook(law)
    outlooks.set(law, outlook)
    sum.deathsAvoided += outlook.risk(life.days, life.days + rules.visitIntervalDays)
  }
  return [...months].sort(([p], [q]) => (p < q ? -1 : 1)).map(([month, sum]) => ({ month, ...sum }))
}
