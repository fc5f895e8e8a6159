import type { CopyFacts, CopyRow } from '#core/api/copies-contract.ts'
import { count, decimal, moment } from '#renderer/parts/format.ts'

/** Why a copy was kept, in words. */
export const reasonWords: Readonly<Record<CopyRow['reason'], string>> = {
  day: 'Day’s copy',
  'before-import': 'Before an import',
  'before-update': 'Before an update of the app',
  'before-restore': 'Before a restore',
  'by-hand': 'By hand',
  rescued: 'Rescued: the file was taken away',
  other: 'Put there by someone',
}

const nbsp = '\u00a0'

/** A size as people compare them: KB up to a megabyte, then MB. */
const sizeText = (bytes: number): string =>
  bytes < 1e6 ? `${count(Math.max(1, bytes / 1e3))}${nbsp}KB` : `${decimal(bytes / 1e6)}${nbsp}MB`

export const countText = (known: number | null): string => (known === null ? 'unknown' : count(known))
const timeText = (known: string | null, { units }: CopyFacts): string =>
  known !== null ? moment(known) : units === null ? 'unknown' : 'none'

/** What is told of a file in a row or beside another, each with its heading. */
const factColumns: readonly {
  readonly label: string
  readonly isFigure: boolean
  readonly text: (facts: CopyFacts) => string
}[] = [
  { label: 'Units', isFigure: true, text: ({ units }) => countText(units) },
  { label: 'Tickets', isFigure: true, text: ({ tickets }) => countText(tickets) },
  { label: 'Readings', isFigure: true, text: ({ readings }) => countText(readings) },
  { label: 'Calibrations', isFigure: true, text: ({ calibrations }) => countText(calibrations) },
  { label: 'Attachments', isFigure: true, text: ({ attachments }) => countText(attachments) },
  { label: 'Newest weighing', isFigure: false, text: (facts) => timeText(facts.newestWeighingAt, facts) },
  { label: 'Last change', isFigure: false, text: (facts) => timeText(facts.lastChangeAt, facts) },
  { label: 'Size', isFigure: true, text: ({ bytes }) => sizeText(bytes) },
]

/** The columns that say something about some files: attachments only where there are any. */
export const columnsFor = (files: readonly CopyFacts[]) =>
  factColumns.filter(({ label }) => label !== 'Attachments' || files.some(({ attachments }) => (attachments ?? 0) > 0))

export const fileName = (path: string): string => path.split(/[\\/]/).at(-1) ?? path
