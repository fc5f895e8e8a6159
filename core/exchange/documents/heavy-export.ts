import writeXlsxFile from 'write-excel-file/node'
import { csvRow } from '#core/exchange/csv-records.ts'
import { toShown } from '#core/words/measures.ts'
import { type Say, estimateShown, plusMinusShown } from '#core/words/say.ts'
import { asText } from '#core/words/text.ts'

/** One row of the Heavy Log as it leaves the app. */
export interface HeavyExportRow {
  readonly weighedAt: string
  readonly units: readonly string[]
  readonly unit: string
  readonly yard: string | null
  readonly kind: string
  readonly group: string | null
  readonly set: { readonly firstAxle: number; readonly lastAxle: number } | null
  readonly weightLb: number
  readonly uLb: number
  readonly limitLb: number
  readonly overLb: number
  readonly pOver: number
  readonly verdict: string
  /** What the lines in use read; null for a ticket, and without a line. */
  readonly byLine: { readonly weightLb: number; readonly uLb: number; readonly verdict: string } | null
  readonly provisional: boolean
  /** What was said before and is no longer held, and why. */
  readonly lookBack: {
    readonly verdict: string
    readonly weightLb: number | null
    readonly because: string
  } | null
  readonly source: string
  readonly superseded: boolean
  readonly reading: string | null
  readonly ticket: string | null
  readonly scale: string | null
  readonly note: string | null
}

/** A column with what it shows of a row: a number with its digits, or text. */
interface Column {
  readonly name: string
  readonly width: number
  readonly of: (row: HeavyExportRow) => string | number | null
  readonly digits?: number
  /** In the spreadsheet, which people read: heading and value in the measures in use. */
  readonly shown?: { readonly heading: string; readonly of: (row: HeavyExportRow, say: Say) => number | null }
}

const columns: readonly Column[] = [
  { name: 'weighed_at', width: 22, of: ({ weighedAt }) => weighedAt },
  { name: 'combination', width: 18, of: ({ units }) => units.join(' + ') },
  { name: 'unit', width: 10, of: ({ unit }) => unit },
  { name: 'yard', width: 16, of: ({ yard }) => yard },
  { name: 'limit', width: 8, of: ({ kind }) => kind },
  { name: 'group', width: 10, of: ({ group }) => group },
  { name: 'axles', width: 8, of: ({ set }) => (set ? `${set.firstAxle} to ${set.lastAxle}` : null) },
  {
    name: 'weight_lb',
    width: 11,
    of: ({ weightLb }) => weightLb,
    digits: 0,
    shown: { heading: 'weight', of: ({ weightLb }, { measures }) => estimateShown(weightLb, measures.weight) },
  },
  {
    name: 'u_lb',
    width: 10,
    of: ({ uLb }) => uLb,
    digits: 0,
    shown: { heading: '± (95 %)', of: ({ uLb }, { measures }) => plusMinusShown(uLb, measures.weight) },
  },
  {
    name: 'limit_lb',
    width: 10,
    of: ({ limitLb }) => limitLb,
    digits: 0,
    shown: { heading: 'limit', of: ({ limitLb }, { measures }) => toShown(limitLb, measures.weight) },
  },
  {
    name: 'over_lb',
    width: 10,
    of: ({ overLb }) => overLb,
    digits: 0,
    shown: { heading: 'over', of: ({ overLb }, { measures }) => estimateShown(overLb, measures.weight) },
  },
  { name: 'p_over', width: 8, of: ({ pOver }) => pOver, digits: 3 },
  { name: 'verdict', width: 16, of: ({ verdict }) => verdict },
  {
    name: 'line_weight_lb',
    width: 14,
    of: ({ byLine }) => byLine?.weightLb ?? null,
    digits: 0,
    shown: {
      heading: 'by the line',
      of: ({ byLine }, { measures }) => byLine && estimateShown(byLine.weightLb, measures.weight),
    },
  },
  {
    name: 'u_line_lb',
    width: 10,
    of: ({ byLine }) => byLine?.uLb ?? null,
    digits: 0,
    shown: {
      heading: '± by the line (95 %)',
      of: ({ byLine }, { measures }) => byLine && plusMinusShown(byLine.uLb, measures.weight),
    },
  },
  { name: 'line_verdict', width: 16, of: ({ byLine }) => byLine?.verdict ?? null },
  { name: 'verdict_then', width: 16, of: ({ lookBack }) => lookBack?.verdict ?? null },
  { name: 'because', width: 40, of: ({ lookBack }) => lookBack?.because ?? null },
  { name: 'provisional', width: 11, of: ({ provisional }) => (provisional ? 'yes' : 'no') },
  { name: 'source', width: 9, of: ({ source }) => source },
  { name: 'ticket_decides', width: 14, of: ({ superseded }) => (superseded ? 'yes' : 'no') },
  { name: 'reading', width: 14, of: ({ reading }) => reading },
  { name: 'scale', width: 18, of: ({ scale }) => scale },
  { name: 'ticket', width: 10, of: ({ ticket }) => ticket },
  { name: 'note', width: 40, of: ({ note }) => note },
]

const cellText = (column: Column, row: HeavyExportRow): string => {
  const value = column.of(row)
  if (value === null) return ''
  return typeof value === 'number' ? String(Number(value.toFixed(column.digits ?? 0))) : asText(value)
}

/**
 * The log as CSV, in parts. u_lb: standard uncertainty; over_lb below zero: by so much under, and too close to call.
 */
export async function* heavyCsv(stretches: AsyncIterable<readonly HeavyExportRow[]>): AsyncGenerator<string> {
  yield csvRow(columns.map(({ name }) => name))
  for await (const rows of stretches)
    yield rows.map((row) => csvRow(columns.map((column) => cellText(column, row)))).join('')
}

/** A sheet of a spreadsheet program ends at 1,048,576 rows; far fewer are what it handles with ease. */
export const mostSpreadsheetRows = 100_000

/** The log as a spreadsheet with a row of headings that stays in sight, in the measures in use. */
export async function heavySpreadsheet(rows: readonly HeavyExportRow[], say: Say): Promise<Uint8Array<ArrayBuffer>> {
  const head = columns.map(({ name, shown }) => ({
    value: shown ? `${shown.heading}, ${say.measures.weight.symbol}` : name,
    fontWeight: 'bold' as const,
  }))
  const body = rows.map((row) =>
    columns.map(({ of, digits, shown }) => {
      const value = shown ? shown.of(row, say) : of(row)
      if (value === null) return null
      return typeof value === 'number'
        ? { value, type: Number, format: digits === 3 ? '0.000' : '#,##0' }
        : { value, type: String }
    }),
  )
  return new Uint8Array(
    await writeXlsxFile([head, ...body], {
      columns: columns.map(({ width }) => ({ width })),
      sheet: 'Heavy Log',
      stickyRowsCount: 1,
    }).toBuffer(),
  )
}
