import type { Measures } from '#renderer/parts/format.ts'
import { findingTitle } from '#core/findings/finding-title.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type EvidenceMark, markWords } from '../chart/evidence-marks.tsx'
import type { CheckView, Happening, LineChange } from './track-series.ts'

/** The mark a happening is drawn with; null for what has none. */
export function markOf(happening: Happening): EvidenceMark | null {
  if (happening.what === 'check') return happening.kind
  if (happening.what === 'calibration') return 'calibration'
  if (happening.what === 'event') return happening.breaks ? 'break' : 'event'
  return null
}

const ends = { replaced: phrase('line replaced'), broken: phrase('line broken'), today: phrase('today') } as const

/** A slip by the name of its finding, in small letters: `digits transposed`. */
export const slipWord = (slip: NonNullable<CheckView['slip']>): string => findingTitle(slip).toLowerCase()

/** What a happening is, in words: the mark's own and what makes it particular. */
export function happeningWords(happening: Happening): string {
  if (happening.what === 'event')
    return `${word(happening.event.kind)}${happening.breaks ? phrase(', broke the line') : ''}`
  if (happening.what === 'forecast') return phrase('forecast')
  if (happening.what === 'change')
    return phrase('{change}, most likely then', { change: changeWords[happening.change.kind] })
  if (happening.what === 'end') return ends[happening.why]
  if (happening.what === 'calibration') return markWords.calibration
  const { kind, check } = happening
  return check.slip === null ? markWords[kind] : phrase('check with a slip: {slip}', { slip: slipWord(check.slip) })
}

const changeWords = {
  offset: phrase('an offset'),
  slope: phrase('a change of slope'),
  drift: phrase('a drift began'),
} as const

/** Within which days a line changed, and how surely it did. */
export const changeSpan = ({ from, until, probability }: LineChange, { times }: Pick<Measures, 'times'>): string =>
  phrase('between {from} and {until} (95 %); {min}\u00a0% sure that it did', {
    from: times.day(from),
    until: times.day(until),
    min: Math.min(99, Math.floor(100 * probability)),
  })

/** How far the scale lay from the track: `604 lb less than expected`. */
export function missWords({ missLb }: Pick<CheckView, 'missLb'>, { weight }: Measures): string {
  return phrase('{missLb} {missLb2} than expected', {
    missLb: weight.estimate(Math.abs(missLb)),
    missLb2: missLb >= 0 ? phrase('more') : phrase('less'),
  })
}
