import type { TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import { csvRow } from '#core/exchange/csv-records.ts'
import { ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import type { SheetColumn } from '#core/exchange/documents/sheet.ts'
import { asText, money } from '#core/words/text.ts'
import { phrase } from '#core/words/phrase.ts'

/** How many cells are needed: expected, and the range that holds it in eight cases of ten. */
interface Need {
  readonly expected: number
  readonly low: number
  readonly high: number
}

/** One line of the order: a cell type of a yard. */
export interface OrderRow {
  readonly yard: string | null
  readonly cell: string | null
  readonly cells: number
  readonly months: readonly Need[]
  readonly need: Need
  readonly onHand: number | null
  readonly toOrder: number
  readonly dollars: number
}

/** What is ordered, for which months (YYYY-MM), and what it comes to. */
export interface Order {
  readonly months: readonly string[]
  readonly through: string
  readonly rows: readonly OrderRow[]
  readonly dollars: number
}

/** Months that are ordered for. */
const monthsOf = ({ months, through }: Order): readonly string[] => months.slice(0, months.indexOf(through) + 1)

const yardText = (yard: string | null) => yard ?? phrase('no yard')
const cellText = (cell: string | null) => cell ?? phrase('unknown type')
const tenth = (value: number) => Number(value.toFixed(1))

interface Column extends SheetColumn<OrderRow> {
  /** In the CSV file, for programs. */
  readonly name: string
  readonly of: (row: OrderRow) => string | number | null
}

const whole = '#,##0'
/** What a file of the order tells of each line. */
export const orderColumns = (order: Order): Column[] => [
  {
    name: 'yard',
    heading: phrase('Yard'),
    meaning: phrase('Whose units the cells are for'),
    width: 18,
    of: ({ yard }) => yardText(yard),
  },
  {
    name: 'cell',
    heading: phrase('Cell'),
    meaning: phrase('The type of cell'),
    width: 14,
    of: ({ cell }) => cellText(cell),
  },
  {
    name: 'in_service',
    heading: phrase('In service'),
    meaning: phrase('Sensors that have one now'),
    width: 11,
    of: ({ cells }) => cells,
    format: whole,
  },
  ...monthsOf(order).flatMap((month, i): Column[] => [
    {
      name: `${month}_expected`,
      heading: phrase('{month}, expected', { month }),
      meaning: phrase('Those that the plan swaps and those that die before, as expected'),
      width: 17,
      of: ({ months }) => tenth(months[i]?.expected ?? 0),
      format: '#,##0.0',
    },
    {
      name: `${month}_low`,
      heading: phrase('{month}, at least', { month }),
      meaning: phrase('The low end of the range that holds the true number in eight cases of ten'),
      width: 17,
      of: ({ months }) => months[i]?.low ?? 0,
      format: whole,
    },
    {
      name: `${month}_high`,
      heading: phrase('{month}, at most', { month }),
      meaning: phrase('The high end of that range'),
      width: 17,
      of: ({ months }) => months[i]?.high ?? 0,
      format: whole,
    },
  ]),
  {
    name: 'need_expected',
    heading: phrase('Needed, expected'),
    meaning: phrase('The same for all these months'),
    width: 17,
    of: ({ need }) => tenth(need.expected),
    format: '#,##0.0',
  },
  {
    name: 'need_low',
    heading: phrase('Needed, at least'),
    meaning: phrase('The low end of the range that holds the true number in eight cases of ten'),
    width: 17,
    of: ({ need }) => need.low,
    format: whole,
  },
  {
    name: 'need_high',
    heading: phrase('Needed, at most'),
    meaning: phrase('The high end of that range'),
    width: 17,
    of: ({ need }) => need.high,
    format: whole,
  },
  {
    name: 'on_hand',
    heading: phrase('On hand'),
    meaning: phrase('What was counted in stock; empty: not counted'),
    width: 10,
    of: ({ onHand }) => onHand,
    format: whole,
  },
  {
    name: 'to_order',
    heading: phrase('To order'),
    meaning: phrase('The high end of what is needed, less what is on hand'),
    width: 12,
    of: ({ toOrder }) => toOrder,
    format: whole,
  },
  {
    name: 'dollars',
    heading: phrase('Cost, $'),
    meaning: phrase('What that comes to by the prices of the cells'),
    width: 10,
    of: ({ dollars }) => Number(dollars.toFixed(2)),
    format: '#,##0.00',
  },
]

/** The order as CSV: one row a yard and cell type, with what each month needs. */
export function orderCsv(order: Order): string {
  const columns = orderColumns(order)
  const text = (value: string | number | null) =>
    value === null ? '' : typeof value === 'number' ? String(value) : asText(value)
  return [
    csvRow(columns.map(({ name }) => name)),
    ...order.rows.map((row) => csvRow(columns.map(({ of }) => text(of(row))))),
  ].join('')
}

/** `12 (9 to 15)` */
const range = ({ expected, low, high }: Need): string =>
  low === high
    ? String(high)
    : phrase('{expected, number} ({low} to {high})', {
        expected: expected < 10 ? tenth(expected) : Math.round(expected),
        low,
        high,
      })

const figure = (text: string, bold = false): TableCell => ({ text, alignment: 'right', bold })
const heading = (text: string, right = true): TableCell => ({ text, bold: true, alignment: right ? 'right' : 'left' })

/** The order to print: what to buy for each yard, and what it comes to. asOf: YYYY-MM-DD. */
export function orderDefinition(order: Order, { asOf, file }: { asOf: string; file: string }): TDocumentDefinitions {
  const title = phrase('Cells to order through {through}', { through: order.through })
  const total = order.rows.reduce((sum, { toOrder }) => sum + toOrder, 0)
  const body: TableCell[][] = [
    [
      heading(phrase('Yard'), false),
      heading(phrase('Cell'), false),
      ...[phrase('In service'), phrase('Needed'), phrase('On hand'), phrase('To order'), phrase('Cost')].map((text) =>
        heading(text),
      ),
    ],
    ...order.rows.map(({ yard, cell, cells, need, onHand, toOrder, dollars }): TableCell[] => [
      yardText(yard),
      cellText(cell),
      figure(String(cells)),
      figure(range(need)),
      figure(onHand === null ? phrase('not counted') : String(onHand)),
      figure(String(toOrder), true),
      figure(money(dollars)),
    ]),
    [
      { text: phrase('All yards'), colSpan: 5, bold: true },
      '',
      '',
      '',
      '',
      figure(String(total), true),
      figure(money(order.dollars), true),
    ],
  ]
  return {
    ...printedPage(`${title}, ${asOf}`, phrase('{file} · as of {asOf}', { file, asOf })),
    pageMargins: [40, 46, 40, 46],
    defaultStyle: { font: 'Roboto', fontSize: 9, color: ink, lineHeight: 1.1 },
    styles: { title: { fontSize: 16, bold: true }, small: { fontSize: 8, color: quiet } },
    content: [
      { text: title, style: 'title' },
      {
        text:
          order.rows.length === 0
            ? phrase('No sensor’s cell is in service, and none lies in stock.')
            : phrase(
                '{total, plural, one {# cell} other {# cells}}, {dollars}. Needed: what is expected, and the range that holds it in eight cases of ten; the order covers its high end, less what is on hand.',
                { total, dollars: money(order.dollars) },
              ),
        margin: [0, 2, 0, 8],
        color: quiet,
      },
      ...(order.rows.length === 0
        ? []
        : [
            {
              table: { headerRows: 1, widths: ['*', 70, 50, 90, 60, 50, 50], body },
              layout: ruledRows((i) => (i <= 1 ? 0.8 : 0.3)),
            },
          ]),
      {
        text: phrase('Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.'),
        margin: [0, 10, 0, 0],
        color: quiet,
      },
    ],
  }
}
