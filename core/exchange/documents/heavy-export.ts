import { wordOf } from '#core/words/listed-words.ts'
import { csvRow } from '#core/exchange/csv-records.ts'
import { type SheetColumn, type SheetHead, makeSpreadsheet, weightHeading } from '#core/exchange/documents/sheet.ts'
import { toShown } from '#core/words/measures.ts'
import { type Say, estimateShown, plusMinusShown } from '#core/words/say.ts'
import { asText } from '#core/words/text.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

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
  readonly driver: string | null
  readonly lane: string | null
}

/** A column with what it shows of a row: a number with its digits, or text. */
interface Column {
  readonly name: string
  readonly of: (row: HeavyExportRow) => string | number | null
  readonly digits?: number
}

const columns: readonly Column[] = [
  { name: 'weighed_at', of: ({ weighedAt }) => weighedAt },
  { name: 'combination', of: ({ units }) => units.join(' + ') },
  { name: 'unit', of: ({ unit }) => unit },
  { name: 'yard', of: ({ yard }) => yard },
  { name: 'limit', of: ({ kind }) => kind },
  { name: 'group', of: ({ group }) => group },
  {
    name: 'axles',
    of: ({ set }) =>
      set ? phrase('{firstAxle} to {lastAxle}', { firstAxle: set.firstAxle, lastAxle: set.lastAxle }) : null,
  },
  {
    name: 'weight_lb',
    of: ({ weightLb }) => weightLb,
    digits: 0,
  },
  {
    name: 'u_lb',
    of: ({ uLb }) => uLb,
    digits: 0,
  },
  {
    name: 'limit_lb',
    of: ({ limitLb }) => limitLb,
    digits: 0,
  },
  {
    name: 'over_lb',
    of: ({ overLb }) => overLb,
    digits: 0,
  },
  { name: 'p_over', of: ({ pOver }) => pOver, digits: 3 },
  { name: 'verdict', of: ({ verdict }) => verdict },
  {
    name: 'line_weight_lb',
    of: ({ byLine }) => byLine?.weightLb ?? null,
    digits: 0,
  },
  {
    name: 'u_line_lb',
    of: ({ byLine }) => byLine?.uLb ?? null,
    digits: 0,
  },
  { name: 'line_verdict', of: ({ byLine }) => byLine?.verdict ?? null },
  { name: 'verdict_then', of: ({ lookBack }) => lookBack?.verdict ?? null },
  { name: 'because', of: ({ lookBack }) => lookBack?.because ?? null },
  { name: 'provisional', of: ({ provisional }) => (provisional ? 'yes' : 'no') },
  { name: 'source', of: ({ source }) => source },
  { name: 'ticket_decides', of: ({ superseded }) => (superseded ? 'yes' : 'no') },
  { name: 'reading', of: ({ reading }) => reading },
  { name: 'scale', of: ({ scale }) => scale },
  { name: 'ticket', of: ({ ticket }) => ticket },
  { name: 'note', of: ({ note }) => note },
  { name: 'driver', of: ({ driver }) => driver },
  { name: 'lane', of: ({ lane }) => lane },
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

const estimate = (lb: number | undefined, { measures }: Say) =>
  lb === undefined ? null : estimateShown(lb, measures.weight)
const plusMinus = (uLb: number | undefined, { measures }: Say) =>
  uLb === undefined ? null : plusMinusShown(uLb, measures.weight)

const yesNo = (is: boolean): string => (is ? phrase('yes') : phrase('no'))

const sheetColumns: readonly SheetColumn<HeavyExportRow>[] = spoken(
  [
    {
      heading: phraseLater('Weighed'),
      width: 18,
      meaning: phraseLater('When it was weighed'),
      of: ({ weighedAt }) => ({ moment: weighedAt }),
    },
    {
      heading: phraseLater('Combination'),
      width: 18,
      meaning: phraseLater('The units weighed, in coupling order'),
      of: ({ units }) => units.join(' + '),
    },
    {
      heading: phraseLater('Unit'),
      width: 10,
      meaning: phraseLater('Whose limit it is'),
      of: ({ unit }) => unit,
    },
    {
      heading: phraseLater('Yard'),
      width: 16,
      meaning: phraseLater('Where the unit at the head is at home'),
      of: ({ yard }) => yard,
    },
    {
      heading: phraseLater('Limit of'),
      width: 10,
      meaning: phraseLater('A group of axles, the gross, or the bridge formula'),
      of: ({ kind }) => wordOf(kind),
    },
    {
      heading: phraseLater('Group'),
      width: 10,
      meaning: phraseLater('The axle group'),
      of: ({ group }) => group,
    },
    {
      heading: phraseLater('Axles'),
      width: 10,
      meaning: phraseLater('Of the bridge formula: its axles, counted from the front'),
      of: ({ set }) =>
        set ? phrase('{firstAxle} to {lastAxle}', { firstAxle: set.firstAxle, lastAxle: set.lastAxle }) : null,
    },
    {
      heading: weightHeading(() => phrase('Weight')),
      width: 12,
      meaning: phraseLater('By all evidence, to the step that it can be known to'),
      of: ({ weightLb }, say) => estimate(weightLb, say),
    },
    {
      heading: weightHeading(() => '± (95 %)'),
      width: 12,
      meaning: phraseLater('Half-width of its 95 % interval'),
      of: ({ uLb }, say) => plusMinus(uLb, say),
    },
    {
      heading: weightHeading(() => phrase('Limit')),
      width: 11,
      meaning: phraseLater('The limit that it is held against'),
      of: ({ limitLb }, { measures }) => toShown(limitLb, measures.weight),
    },
    {
      heading: weightHeading(() => phrase('Over')),
      width: 11,
      meaning: phraseLater('Weight less limit; below zero: under it, and too close to call'),
      of: ({ overLb }, say) => estimate(overLb, say),
    },
    {
      heading: phraseLater('Chance of being over'),
      width: 12,
      meaning: phraseLater('Probability that the true weight is over the limit, 0 to 1'),
      of: ({ pOver }) => Number(pOver.toFixed(3)),
      format: '0.000',
    },
    {
      heading: phraseLater('Verdict'),
      width: 16,
      meaning: phraseLater('over, too close to call, or under, at the House Rules’ confidence'),
      of: ({ verdict }) => wordOf(verdict),
    },
    {
      heading: weightHeading(() => phrase('By the line')),
      width: 12,
      meaning: phraseLater('What the lines in use read: what the driver’s card said'),
      of: ({ byLine }, say) => estimate(byLine?.weightLb, say),
    },
    {
      heading: weightHeading(() => phrase('± by the line (95 %)')),
      width: 12,
      meaning: phraseLater('Half-width of its 95 % interval'),
      of: ({ byLine }, say) => plusMinus(byLine?.uLb, say),
    },
    {
      heading: phraseLater('Verdict by the line'),
      width: 16,
      meaning: phraseLater('The verdict of that weight'),
      of: ({ byLine }) => byLine && wordOf(byLine.verdict),
    },
    {
      heading: phraseLater('Verdict said before'),
      width: 16,
      meaning: phraseLater('What was said first, where it is no longer held'),
      of: ({ lookBack }) => lookBack && wordOf(lookBack.verdict),
    },
    {
      heading: phraseLater('Because'),
      width: 40,
      meaning: phraseLater('Why it is no longer held'),
      of: ({ lookBack }) => lookBack?.because ?? null,
    },
    {
      heading: phraseLater('Provisional'),
      width: 11,
      meaning: phraseLater('yes: a line that recorded work has broken has a part in it'),
      of: ({ provisional }) => yesNo(provisional),
    },
    {
      heading: phraseLater('Weighed by'),
      width: 11,
      meaning: phraseLater('ticket: a certified scale; onboard: a pressure'),
      of: ({ source }) => wordOf(source),
    },
    {
      heading: phraseLater('Ticket decides'),
      width: 13,
      meaning: phraseLater('yes: a ticket of the same weighing decides about it'),
      of: ({ superseded }) => yesNo(superseded),
    },
    {
      heading: phraseLater('Reading'),
      width: 14,
      meaning: phraseLater('The reading of an onboard weight'),
      of: ({ reading }) => reading,
    },
    {
      heading: phraseLater('Scale'),
      width: 18,
      meaning: phraseLater('The scale of the ticket'),
      of: ({ scale }) => scale,
    },
    {
      heading: phraseLater('Ticket'),
      width: 10,
      meaning: phraseLater('Its number'),
      of: ({ ticket }) => ticket,
    },
    {
      heading: phraseLater('Driver'),
      width: 16,
      meaning: phraseLater('Who drove, where the record says so'),
      of: ({ driver }) => driver,
    },
    {
      heading: phraseLater('Loading lane'),
      width: 16,
      meaning: phraseLater('Where it was loaded, where the record says so'),
      of: ({ lane }) => lane,
    },
    {
      heading: phraseLater('Driver’s note'),
      width: 40,
      meaning: phraseLater('What the driver said of it'),
      of: ({ note }) => note,
    },
  ],
  ['heading', 'meaning'],
)

/** The log as a spreadsheet, in the measures in use. */
export const heavySpreadsheet = (
  rows: readonly HeavyExportRow[],
  say: Say,
  head: SheetHead,
): Promise<Uint8Array<ArrayBuffer>> => makeSpreadsheet(sheetColumns, rows, head, say)
