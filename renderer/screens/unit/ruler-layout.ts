import type { GroupView, UnitSheetView } from '#core/api/contract.ts'

export interface PlacedGroup {
  readonly group: GroupView
  /** Positions that are known, ft from the datum; empty when the first axle's is not. */
  readonly axlesFt: readonly number[]
  /** What is not known about the positions, or null. */
  readonly unknown: string | null
}

/** Where a group's axles stand, as far as the record tells. */
export function placeGroup(group: GroupView): PlacedGroup {
  const { firstAxleFt, axleSpacingFt, axles } = group
  if (firstAxleFt === null) return { group, axlesFt: [], unknown: 'position unknown' }
  if (axles > 1 && axleSpacingFt === null)
    return { group, axlesFt: [firstAxleFt], unknown: 'spacing unknown, first axle shown' }
  return {
    group,
    axlesFt: Array.from({ length: axles }, (_, axle) => firstAxleFt + axle * (axleSpacingFt ?? 0)),
    unknown: null,
  }
}

/** Left edges of labels of one width, each as near its centre as its neighbours and the frame allow, in order. */
export function spreadLabels(centres: readonly number[], labelWidth: number, room: number, gap = 8): number[] {
  const lefts: number[] = []
  for (const centre of centres) {
    const before = lefts.at(-1)
    lefts.push(Math.max(0, centre - labelWidth / 2, before === undefined ? 0 : before + labelWidth + gap))
  }
  let edge = room
  for (let i = lefts.length - 1; i >= 0; i -= 1) {
    lefts[i] = Math.max(0, Math.min(lefts[i] as number, edge - labelWidth))
    edge = (lefts[i] as number) - gap
  }
  return lefts
}

export const datumOf = (kind: UnitSheetView['unit']['kind']): string => (kind === 'trailer' ? 'kingpin' : 'front axle')
