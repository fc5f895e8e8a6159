import type { PlantedFault } from '#tests/bed/fault-kinds.ts'

/** What the simulator knows and the fleet's people do not. */
export interface FleetTruth {
  readonly lastDay: string
  readonly planted: readonly PlantedFault[]
  readonly groups: readonly GroupTruth[]
}

export interface GroupTruth {
  readonly unit: string
  readonly group: string
  readonly clean: boolean
  readonly lastCalibratedDaysAgo: number
  /** Times of its check weighings, ms UTC, in order. */
  readonly checks: readonly number[]
}
