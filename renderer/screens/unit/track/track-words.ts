import type { Measures } from '#renderer/parts/format.ts'
import { findingTitle } from '#renderer/parts/record-text.ts'
import { type EvidenceMark, markWords } from '../chart/evidence-marks.tsx'
import type { CheckView, Happening, LineChange } from './track-series.ts'

/** The mark a happening is drawn with; null for what has none. */
export function markOf(happening: Happening): EvidenceMark | null {
  if (happening.what === 'check') return happening.kind
  if (happening.what === 'calibration') return 'calibration'
  if (happening.what === 'event') return happening.breaks ? 'break' : 'event'
  return null
}

const ends = { replaced: 'line replaced', broken: 'line broken', today: 'today' } as const

/** A slip by the name of its finding, in small letters: `digits transposed`. */
export const slipWord = (slip: NonNullable<CheckView['slip']>): string => findingTitle(slip).toLowerCase()

/** What a happening is, in words: the mark's own and what makes it particular. */
export function happeningWords(happening: Happening): string {
  if (happening.what === 'event') return `${happening.event.kind}${happening.breaks ? ', broke the line' : ''}`
  if (happening.what === 'forecast') return 'forecast'
  if (happening.what === 'change') return `${changeWords[happening.change.kind]}, most likely then`
  if (happening.what === 'end') return ends[happening.why]
  if (happening.what === 'calibration') return markWords.calibration
  const { kind, check } = happening
  return check.slip === null ? markWords[kind] : `check with a slip: ${slipWord(check.slip)}`
}

const changeWords = { offset: 'an offset', slope: 'a change of slope', drift: 'a drift began' } as const

/** Within which days a line changed, and how surely it did. */
export const changeSpan = ({ from, until, probability }: LineChange, { times }: Pick<Measures, 'times'>): string =>
  `between ${times.day(from)} and ${times.day(until)} (95 %); ` +
  `${Math.min(99, Math.floor(100 * probability))}\u00a0% sure that it did`

/** How far the scale lay from the track: `604 lb less than expected`. */
export function missWords({ missLb }: Pick<CheckView, 'missLb'>, { weight }: Measures): string {
  return `${weight.estimate(Math.abs(missLb))} ${missLb >= 0 ? 'more' : 'less'} than expected`
}
