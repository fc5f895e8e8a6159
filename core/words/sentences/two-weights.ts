import type { Say } from '#core/words/say.ts'
import type { GroupRole } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

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
    ? phrase('by the line {weightLb}; all evidence says {weightLb2} {uLb}', {
        weightLb: say.weight(byLine.weightLb),
        weightLb2: say.weightFigure(best.weightLb),
        uLb: say.plusMinus(best.uLb),
      })
    : null

/** That nobody has calibrated a group since the work on it. */
export const provisionalWords = (): string =>
  phrase('provisional: by the weighings since the work on it; calibrate it again')

/** The same of a group that is only estimated from one. */
export const provisionalEstimateWords = (): string =>
  phrase('provisional, as the drive group that it is estimated from')

/** The same of a sum of groups. */
export const provisionalSumWords = (): string =>
  phrase('provisional: a group in it goes by the weighings since the work on that group; calibrate that one again')

/** Of what a limit is about: a group by its own gauge, a steer axle that is estimated, or a sum of groups. */
export const provisionalOf = (limit: 'group' | 'gross' | 'bridge', role: GroupRole | null): string =>
  limit !== 'group' ? provisionalSumWords() : role === 'steer' ? provisionalEstimateWords() : provisionalWords()

/** Why no verdict is sure, whatever the figures say; null where one may be. */
export const sayThin = ({ isThin, isOddPressure }: { isThin: boolean; isOddPressure: boolean }): string | null =>
  isOddPressure
    ? phrase('its pressure cannot be right: look at the unit it was noted in')
    : isThin
      ? phrase('one weighing says that its line has changed: weigh it again')
      : null

/** What is left of a limit, or by how much it is passed: the excess, and apart from it what the margin adds. */
export function sayRoom(
  weightLb: number,
  { limitLb, roomLb, isThin }: { readonly limitLb: number; readonly roomLb: number; readonly isThin?: true },
  say: Say,
): string {
  if (isThin === true) return phrase('room not known')
  if (roomLb >= 0) return phrase('room for {roomLb}', { roomLb: say.weight(roomLb) })
  const excessLb = weightLb - limitLb
  const withMargin = phrase('{weight}, margin included', { weight: say.weight(-roomLb) })
  return excessLb > 0
    ? phrase('over by {excessLb}; by {withMargin}', { excessLb: say.weight(excessLb), withMargin })
    : phrase('under by {weight}; over by {withMargin}', { weight: say.weight(-excessLb), withMargin })
}
