import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { WorkItem } from '#core/battery/bench-visits.ts'
import type { CellOutlook } from '#core/battery/cell-outlook.ts'

const dayMs = 86_400_000

/** Whose unit and yard a sensor is on. */
export interface SensorPlace {
  readonly unitId: number
  readonly unit: string
  readonly yardId: number | null
}

/**
 * The swap of one cell as work for the bench. Due on the day of swap-by, for an old cell on the day on which it should
 * have been, so that the oldest come first and the plan says how late they are. Its urgency is the risk before the next
 * visit.
 */
export function cellWork(outlook: CellOutlook, { unitId, unit, yardId }: SensorPlace, rules: HouseRules): WorkItem {
  return {
    id: outlook.serial,
    kind: 'cell',
    unitId,
    unit,
    yardId,
    dueDay: Math.floor(outlook.dueAt / dayMs),
    minutes: rules.cellMinutes,
    urgency: outlook.riskBeforeVisit,
  }
}
