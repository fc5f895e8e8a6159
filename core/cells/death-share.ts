import type { CellLife } from '#core/cells/lives.ts'

/**
 * How far a life counts as a death, 0 to 1: the one rule for the law of life and for the curve of the record that it is
 * drawn through. lowShare: of a cell that was swapped because it reported low (House Rules, lowCellDeathPercent / 100).
 */
export const deathShare = ({ died, endedBy }: Pick<CellLife, 'died' | 'endedBy'>, lowShare: number): number =>
  died ? 1 : endedBy === 'low' ? lowShare : 0
