import { cellTypeOf } from '#core/cells/life-model.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** What cells cost a fleet, dollars. */
export interface CellCosts {
  /** One cell of a type: as typed for it, else the House Rules'. */
  readonly priceOf: (cell: string | null) => number
  /** Bench time of one swap. */
  readonly swapDollars: number
  /** What a cell that died on the road costs beside its swap. */
  readonly deathDollars: number
}

/** typed: prices by `cellTypeOf`. */
export const cellCosts = (typed: ReadonlyMap<string, number>, rules: HouseRules): CellCosts => ({
  priceOf: (cell) => typed.get(cellTypeOf(cell) ?? '') ?? rules.cellDollars,
  swapDollars: (rules.cellMinutes / 60) * rules.benchHourDollars,
  deathDollars: rules.deadCellDollars,
})
