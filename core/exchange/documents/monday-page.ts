import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import type { MondayPage, MondayRow } from '#core/contracts/heavy.ts'
import { ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import { expanded } from '#core/words/coverage.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { count } from '#core/words/text.ts'

interface MondayHead {
  /** YYYY-MM-DD. */
  readonly asOf: string
  readonly file: string
}

/** All of it has to stand on one page. */
const most = { units: 10, drivers: 8, yards: 6, changed: 6 } as const

const firstOf = <Row>({ total, rows }: { readonly total: number; readonly rows: readonly Row[] }, shown: number) => ({
  total,
  rows: rows.slice(0, shown),
})

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`
const rateText = ({ rate, u }: { readonly rate: number; readonly u: number }): string =>
  `${percent(rate)} ± ${(100 * expanded(u)).toFixed(1)}`

const heading = (text: string): Content => ({ text, style: 'heading' })
const right = (text: string): TableCell => ({ text, alignment: 'right' })
const bold = (text: string): TableCell => ({ text, bold: true })

const earlierCell = (row: MondayRow['before']): TableCell =>
  row === null
    ? { text: 'not weighed', color: quiet, alignment: 'right' }
    : { stack: [rateText(row), { text: row.change, color: quiet }], alignment: 'right' }

const rowCells = (row: MondayRow, unnamed: string): TableCell[] => [
  {
    stack: [
      { text: row.name ?? unnamed, bold: true },
      ...(row.yard === null ? [] : [{ text: row.yard, color: quiet }]),
    ],
  },
  right(String(row.weighings)),
  right(String(row.over)),
  right(rateText(row)),
  {
    stack: [
      { text: row.standing, bold: row.standing === 'worse than the fleet' },
      ...row.restsOn.map((text) => ({ text, color: quiet })),
    ],
  },
  earlierCell(row.before),
  earlierCell(row.yearBefore),
]

function part(
  title: string,
  none: string,
  list: { readonly total: number; readonly rows: readonly MondayRow[] },
  { before, yearBefore }: MondayPage,
  unnamed: string,
): Content[] {
  if (list.rows.length === 0) return [heading(title), { text: none, color: quiet }]
  const heads = ['', 'Weighed', 'Over', 'Rate, %', 'Against the fleet', before, yearBefore]
  return [
    heading(title),
    {
      table: {
        headerRows: 1,
        dontBreakRows: true,
        widths: [86, 38, 28, 66, '*', 74, 74],
        body: [heads.map(bold), ...list.rows.map((row) => rowCells(row, unnamed))],
      },
      layout: ruledRows((i) => (i <= 1 ? 0.8 : 0.3)),
    },
    ...(list.total > list.rows.length
      ? [{ text: `The first ${list.rows.length} of ${list.total}`, color: quiet } as Content]
      : []),
  ]
}

/** Who ran heavy in a month, to print: a page for the owner. */
export function mondayPageDefinition(page: MondayPage, { asOf, file }: MondayHead, say: Say): TDocumentDefinitions {
  const { month, fleet, units, yards, drivers, before, yearBefore } = page
  const lookBack = firstOf(page.lookBack, most.changed)
  const title = `Who ran heavy in ${month}`
  return {
    ...printedPage(`${title}, ${asOf}`, `${file} · as of ${asOf}`),
    pageMargins: [36, 32, 36, 42],
    defaultStyle: { font: 'Roboto', fontSize: 8, color: ink, lineHeight: 1.05 },
    styles: {
      title: { fontSize: 15, bold: true },
      heading: { fontSize: 10.5, bold: true, margin: [0, 8, 0, 2] },
      small: { fontSize: 8, color: quiet },
    },
    content: [
      { text: title, style: 'title' },
      {
        text:
          fleet === null
            ? 'Nothing was weighed in this month.'
            : `The fleet: ${fleet.over} of ${count(fleet.weighings, 'weighing')} over a limit, ${rateText(fleet)} ` +
              `points; ${before}: ${fleet.before ? `${rateText(fleet.before)}, ${fleet.before.change}` : 'not weighed'}; ` +
              `${yearBefore}: ${fleet.yearBefore ? `${rateText(fleet.yearBefore)}, ${fleet.yearBefore.change}` : 'not weighed'}.`,
        margin: [0, 2, 0, 0],
      },
      {
        text:
          'Rates are drawn towards the fleet’s of their month and stand with their 95 % interval. The lane of loading ' +
          'is not in the record, so lanes are not told apart.',
        color: quiet,
      },
      ...part('By unit at the head', 'No unit was weighed.', firstOf(units, most.units), page, 'no unit'),
      ...(drivers === null
        ? [heading('By driver'), { text: 'The House Rules keep drivers’ names off papers.', color: quiet } as Content]
        : part(
            'By driver',
            'No ticket and no reading of this month names a driver.',
            firstOf(drivers, most.drivers),
            page,
            'not named',
          )),
      ...part('By yard', 'No unit was weighed.', firstOf(yards, most.yards), page, 'no yard'),
      heading('Loads that are judged otherwise by now'),
      lookBack.rows.length === 0
        ? { text: 'No verdict of this month has changed.', color: quiet }
        : {
            ul: lookBack.rows.map(
              ({ weighedAt, units: own, lookBack: said, verdict }) =>
                `${say.day(fromStoredInstant(weighedAt))} ${own.join(' + ')}: ` +
                (said === null ? verdict : `${sayThenNow(said.verdict, verdict)}. ${said.because}`),
            ),
          },
      ...(lookBack.total > lookBack.rows.length
        ? [{ text: `and ${lookBack.total - lookBack.rows.length} more in the Heavy Log`, color: quiet } as Content]
        : []),
      {
        text: 'Onboard weights are not legal for trade; the certified scale and the local authority decide.',
        color: quiet,
        margin: [0, 8, 0, 0],
      },
    ],
  }
}
