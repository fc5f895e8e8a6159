import type { Say } from '#core/words/say.ts'
import type { GroupRole } from '#core/words/vocabulary.ts'

/** A weight with its standard uncertainty, lb. */
interface Weighed {
  readonly weightLb: number
  readonly uLb: number
}

/** Whether what the line reads and the best weight lie apart by more than the best one is known by (k = 1). */
export const areApart = (best: Weighed, byLine: Weighed): boolean =>
  Math.abs(best.weightLb - byLine.weightLb) > best.uLb

/** Both weights, where they lie apart: what the driver's card said, and what is known by now; null where they agree. */
export const sayTwoWeights = (best: Weighed, byLine: Weighed | null, say: Say): string | null =>
  byLine !== null && areApart(best, byLine)
    ? `by the line ${say.weight(byLine.weightLb)}; all evidence says ${say.weightFigure(best.weightLb)} ` +
      `${say.plusMinus(best.uLb)}`
    : null

/** That nobody has calibrated a group since the work on it. */
export const provisionalWords = 'provisional: by the weighings since the work on it; calibrate it anew'

/** The same of a group that is only estimated from one. */
export const provisionalEstimateWords = 'provisional, as the drive group that it is estimated from'

/** The same of a sum of groups. */
export const provisionalSumWords =
  'provisional: a group in it goes by the weighings since the work on that group; calibrate that one anew'

/** Of what a limit is about: a group by its own gauge, a steer axle that is estimated, or a sum of groups. */
export const provisionalOf = (limit: 'group' | 'gross' | 'bridge', role: GroupRole | null): string =>
  limit !== 'group' ? provisionalSumWords : role === 'steer' ? provisionalEstimateWords : provisionalWords

/** Why no verdict is sure, whatever the figures say; null where one may be. */
export const sayThin = ({ isThin, isOddPressure }: { isThin: boolean; isOddPressure: boolean }): string | null =>
  isOddPressure
    ? 'its pressure cannot be right: look at the unit it was noted in'
    : isThin
      ? 'one weighing says that its line has changed: weigh it again'
      : null

/** What is left of a limit, or by how much it is passed: the excess, and apart from it what the margin adds. */
export function sayRoom(
  weightLb: number,
  { limitLb, roomLb, isThin }: { readonly limitLb: number; readonly roomLb: number; readonly isThin?: true },
  say: Say,
): string {
  if (isThin === true) return 'room not known'
  if (roomLb >= 0) return `room for ${say.weight(roomLb)}`
  const excessLb = weightLb - limitLb
  const withMargin = `${say.weight(-roomLb)}, margin included`
  return excessLb > 0
    ? `over by ${say.weight(excessLb)}; by ${withMargin}`
    : `under by ${say.weight(-excessLb)}; over by ${withMargin}`
}
