import type { PlantedFault } from '#tests/bed/fault-kinds.ts'

/** What the simulator knows and the fleet's people do not. */
export interface FleetTruth {
  readonly lastDay: string
  readonly planted: readonly PlantedFault[]
  readonly groups: readonly GroupTruth[]
  readonly scales: readonly ScaleTruth[]
  /** Of every check weighing and reading on the road; not of calibrations. */
  readonly weighings: readonly WeighingTruth[]
}

/** What truly stood on the axles when a reading was taken. */
export interface WeighingTruth {
  readonly reading: string
  readonly groups: readonly { readonly unit: string; readonly group: string; readonly weightLb: number }[]
}

export interface ScaleTruth {
  readonly scale: string
  readonly biasPercent: number
  readonly tolerancePercent: number
}

export interface GroupTruth {
  readonly unit: string
  readonly group: string
  readonly clean: boolean
  readonly lastCalibratedDaysAgo: number
  /** Times of its check weighings, ms UTC, in order. */
  readonly checks: readonly number[]
}
