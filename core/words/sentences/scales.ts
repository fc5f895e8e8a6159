import { expanded } from '#core/words/coverage.ts'
import { phrase } from '#core/words/phrase.ts'
import { listText } from '#core/words/numbers.ts'

/** A scale by name, and the scales that it cannot be told apart from. */
export interface TiedScale {
  readonly scale: string
  readonly tiedTo: readonly string[]
}

/** Which scales cannot be told apart, each pair said once, the scale of most pairs first. */
export function tiedWords(scales: readonly TiedScale[]): string[] {
  const open = new Map(scales.map(({ scale, tiedTo }) => [scale, new Set(tiedTo)]))
  const sentences: string[] = []
  for (;;) {
    const [most] = [...open].sort(([, one], [, other]) => other.size - one.size)
    if (!most || most[1].size === 0) return sentences
    const [scale, tied] = most
    sentences.push(
      phrase('{scale} cannot be told apart from {listed}: too few units are weighed on both.', {
        scale,
        listed: listText([...tied]),
      }),
    )
    for (const other of tied) open.get(other)?.delete(scale)
    open.delete(scale)
  }
}

/** What to weigh next so that the scales are known better. */
export const crossCheckWords = ({
  scales: [one, other],
  uNowPercent,
  uAfterPercent,
}: {
  readonly scales: readonly [string, string]
  readonly uNowPercent: number
  readonly uAfterPercent: number
}): string =>
  phrase(
    'Weighing one loaded unit on {one} and right after on {other} would tell most about the scales: their difference, known to ± {uNowPercent} %, would be known to ± {uAfterPercent} %.',
    { one, other, uNowPercent: expanded(uNowPercent).toFixed(2), uAfterPercent: expanded(uAfterPercent).toFixed(2) },
  )
