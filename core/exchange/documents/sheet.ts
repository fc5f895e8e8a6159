import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import writeXlsxFile, { type Cell, type Row as SheetRow } from 'write-excel-file/node'
import { ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import { localTimeOf, storedDay } from '#core/words/day.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

/**
 * What a cell holds: a text, a number in the measures in use, a moment (stored instant) or a day (YYYY-MM-DD); null:
 * nothing.
 */
export type SheetValue = string | number | { readonly moment: string } | { readonly day: string } | null

/** One column of a table that leaves the program: the same in a spreadsheet and on paper. */
export interface SheetColumn<Row> {
  /** In words, with the unit where it has one. */
  readonly heading: string | ((say: Say) => string)
  /** What it means, for whoever opens the file without the program. */
  readonly meaning: string
  /** Characters in a spreadsheet. */
  readonly width: number
  readonly of: (row: Row, say: Say) => SheetValue
  /** Of numbers, as spreadsheet programs write it. */
  readonly format?: string
  /** Points on paper, or `*` for what is left; one without it is not printed. */
  readonly onPaper?: number | '*'
}

/** The heading of a column of weights, said to whoever asks, with the unit that is in use. */
export const weightHeading =
  (heading: () => string) =>
  (say: Say): string =>
    `${heading()}, ${say.measures.weight.symbol}`

export interface SheetHead {
  readonly title: string
  /** YYYY-MM-DD. */
  readonly asOf: string
  /** The fleet file. */
  readonly file: string
  /** What else should be known of all rows. */
  readonly notes: readonly string[]
}

const headingOf = <Row>({ heading }: SheetColumn<Row>, say: Say): string =>
  typeof heading === 'string' ? heading : heading(say)

/** A spreadsheet knows no zones: what the fleet's clocks show is written as if it were of UTC. */
const wallClock = (at: number, zone: string): Date => new Date(`${localTimeOf(at, zone)}Z`)

function cellOf<Row>(column: SheetColumn<Row>, row: Row, say: Say): Cell {
  const value = column.of(row, say)
  if (value === null || value === '') return null
  if (typeof value === 'number') return { value, type: Number, format: column.format ?? '#,##0' }
  if (typeof value === 'string') return { value, type: String }
  return 'day' in value
    ? { value: new Date(`${storedDay(value.day)}T00:00Z`), type: Date, format: 'yyyy-mm-dd' }
    : { value: wallClock(fromStoredInstant(value.moment), say.zone), type: Date, format: 'yyyy-mm-dd hh:mm' }
}

const intervalNote = (): string =>
  phrase(
    'What stands behind ± is the half-width of the 95 % interval: the standard uncertainty times 2 (k = 2), as on screen.',
  )
const tradeNote = (): string =>
  phrase('Onboard weights are not legal for trade; a certified scale and the local authority decide.')

const bold = (value: string): Cell => ({ value, type: String, fontWeight: 'bold' })
const plain = (value: string): Cell => ({ value, type: String, wrap: true })

/** What the columns mean, and of what and when the sheet is. */
function aboutRows<Row>(columns: readonly SheetColumn<Row>[], head: SheetHead, say: Say): SheetRow[] {
  return [
    [bold(head.title)],
    [plain(phrase('Fleet file')), plain(head.file)],
    [
      plain(phrase('As of')),
      { value: new Date(`${head.asOf}T00:00Z`), type: Date, format: 'yyyy-mm-dd', align: 'left' },
    ],
    [
      plain(phrase('Days and times')),
      plain(phrase('those of the fleet’s clocks, in the time zone {zone}', { zone: say.zone })),
    ],
    ...[...head.notes, intervalNote(), tradeNote()].map((note): SheetRow => [null, plain(note)]),
    [],
    [bold(phrase('Column')), bold(phrase('What it means'))],
    ...columns.map((column): SheetRow => [plain(headingOf(column, say)), plain(column.meaning)]),
  ]
}

/** What spreadsheet programs accept as the name of a sheet. */
const sheetName = (title: string): string => title.replaceAll(/[[\]/\\:*?]+/g, ' ').slice(0, 31)

/** Far fewer rows than a sheet may have are what a spreadsheet program handles with ease. */
export const mostSpreadsheetRows = 100_000

/**
 * Rows as a spreadsheet: headings in words that stay in sight, real dates of the fleet's zone, numbers in the measures
 * in use, and a second sheet that says what the columns mean. Errors: none of its own.
 */
export async function makeSpreadsheet<Row>(
  columns: readonly SheetColumn<Row>[],
  rows: readonly Row[],
  head: SheetHead,
  say: Say,
): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(
    await writeXlsxFile([
      {
        sheet: sheetName(head.title),
        data: [
          columns.map((column) => bold(headingOf(column, say))),
          ...rows.map((row) => columns.map((column) => cellOf(column, row, say))),
        ],
        columns: columns.map(({ width }) => ({ width })),
        stickyRowsCount: 1,
      },
      {
        sheet: sheetName(phrase('What the columns mean')),
        data: aboutRows(columns, head, say),
        columns: [{ width: 26 }, { width: 90 }],
      },
    ]).toBuffer(),
  )
}

const twoPlaces = figures({ maximumFractionDigits: 2 })

function paperCell<Row>(column: SheetColumn<Row>, row: Row, say: Say): TableCell {
  const value = column.of(row, say)
  if (value === null) return ''
  if (typeof value === 'number') return { text: twoPlaces(value), alignment: 'right' }
  if (typeof value === 'string') return value
  if ('day' in value) return value.day
  return localTimeOf(fromStoredInstant(value.moment), say.zone).replace('T', ' ')
}

/** More than a hundred pages nobody prints. */
export const mostPrintedRows = 3000

/** The same rows to print. */
export function sheetPageDefinition<Row>(
  columns: readonly SheetColumn<Row>[],
  rows: readonly Row[],
  { title, asOf, file, notes }: SheetHead,
  say: Say,
): TDocumentDefinitions {
  const printed = columns.filter(({ onPaper }) => onPaper !== undefined)
  const table: Content = {
    table: {
      headerRows: 1,
      dontBreakRows: true,
      widths: printed.map(({ onPaper = '*' }) => onPaper),
      body: [
        printed.map((column): TableCell => ({ text: headingOf(column, say), bold: true })),
        ...rows.map((row) => printed.map((column) => paperCell(column, row, say))),
      ],
    },
    layout: ruledRows((i) => (i <= 1 ? 0.8 : 0.3)),
  }
  return {
    ...printedPage(`${title}, ${asOf}`, phrase('{file} · as of {asOf}', { file, asOf })),
    pageOrientation: 'landscape',
    pageMargins: [36, 36, 36, 44],
    defaultStyle: { font: 'Roboto', fontSize: 8.5, color: ink, lineHeight: 1.1 },
    styles: { title: { fontSize: 16, bold: true }, small: { fontSize: 8, color: quiet } },
    content: [
      { text: `${title}, ${asOf}`, style: 'title' },
      {
        text: [phrase('{rows, plural, one {# row} other {# rows}}', { rows: rows.length }), ...notes, tradeNote()]
          .join('. ')
          .replaceAll('..', '.'),
        color: quiet,
        margin: [0, 2, 0, 8],
      },
      ...(rows.length === 0 ? [] : [table]),
    ],
  }
}
