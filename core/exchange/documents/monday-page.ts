import { figures } from '#core/words/numbers.ts'
import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import type { MondayPage, MondayRow } from '#core/contracts/heavy.ts'
import { ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import type { RateWithin } from '#core/weight/month-rates.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

interface MondayHead {
  /** YYYY-MM-DD. */
  readonly asOf: string
  readonly file: string
}

/** All of it has to stand on one page. */
const most = { units: 10, drivers: 8, lanes: 6, yards: 6, changed: 6 } as const

const firstOf = <Row>({ total, rows }: { readonly total: number; readonly rows: readonly Row[] }, shown: number) => ({
  total,
  rows: rows.slice(0, shown),
})

const tenths = figures({ minimumFractionDigits: 1, maximumFractionDigits: 1 })
const percent = (share: number): string => `${tenths(100 * share)} %`
const within = ({ low, high }: RateWithin): string =>
  phrase('{low} to {high}', { low: percent(low), high: percent(high) })
const rateText = (rate: RateWithin): string => `${percent(rate.rate)} (${within(rate)})`

const heading = (text: string): Content => ({ text, style: 'heading' })
const right = (text: string): TableCell => ({ text, alignment: 'right' })
const bold = (text: string): TableCell => ({ text, bold: true })

const earlierCell = (row: MondayRow['before']): TableCell =>
  row === null
    ? { text: phrase('not weighed'), color: quiet, alignment: 'right' }
    : { stack: [rateText(row), { text: word(row.change), color: quiet }], alignment: 'right' }

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
      { text: word(row.standing), bold: row.standing === 'worse than the fleet' },
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
  const heads = [
    '',
    phrase('Weighed'),
    phrase('Over'),
    phrase('Rate, %'),
    phrase('Against the fleet'),
    before,
    yearBefore,
  ]
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
      ? [
          {
            text: phrase('The first {rows} of {total}', { rows: list.rows.length, total: list.total }),
            color: quiet,
          } as Content,
        ]
      : []),
  ]
}

/** Who ran heavy in a month, to print: a page for the owner. */
export function mondayPageDefinition(page: MondayPage, { asOf, file }: MondayHead, say: Say): TDocumentDefinitions {
  const { month, fleet, units, yards, drivers, lanes, before, yearBefore } = page
  const lookBack = firstOf(page.lookBack, most.changed)
  const title = phrase('Who ran heavy in {month}', { month })
  return {
    ...printedPage(`${title}, ${asOf}`, phrase('{file} · as of {asOf}', { file, asOf })),
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
            ? phrase('Nothing was weighed in this month.')
            : phrase(
                'The fleet: {over} of {weighings, plural, one {# weighing} other {# weighings}} over a limit, {fleet} points; {before}: {before2}; {yearBefore}: {yearBefore2}.',
                {
                  over: fleet.over,
                  weighings: fleet.weighings,
                  fleet: rateText(fleet),
                  before,
                  before2: fleet.before
                    ? `${rateText(fleet.before)}, ${word(fleet.before.change)}`
                    : phrase('not weighed'),
                  yearBefore,
                  yearBefore2: fleet.yearBefore
                    ? `${rateText(fleet.yearBefore)}, ${word(fleet.yearBefore.change)}`
                    : phrase('not weighed'),
                },
              ),
        margin: [0, 2, 0, 0],
      },
      {
        text: phrase('Rates are drawn towards the fleet’s of their month and stand with their 95 % interval.'),
        color: quiet,
      },
      ...part(
        phrase('By unit at the head'),
        phrase('No unit was weighed.'),
        firstOf(units, most.units),
        page,
        phrase('no unit'),
      ),
      ...(drivers === null
        ? [
            heading(phrase('By driver')),
            { text: phrase('The House Rules keep drivers’ names off papers.'), color: quiet } as Content,
          ]
        : part(
            phrase('By driver'),
            phrase('No ticket and no reading of this month names a driver.'),
            firstOf(drivers, most.drivers),
            page,
            phrase('not named'),
          )),
      ...part(
        phrase('By loading lane'),
        phrase('No ticket and no reading of this month names a loading lane.'),
        firstOf(lanes, most.lanes),
        page,
        phrase('not named'),
      ),
      ...part(phrase('By yard'), phrase('No unit was weighed.'), firstOf(yards, most.yards), page, phrase('no yard')),
      heading(phrase('Loads that are judged otherwise by now')),
      lookBack.rows.length === 0
        ? { text: phrase('No verdict of this month has changed.'), color: quiet }
        : {
            ul: lookBack.rows.map(
              ({ weighedAt, units: own, lookBack: said, verdict }) =>
                `${say.day(fromStoredInstant(weighedAt))} ${own.join(' + ')}: ` +
                (said === null ? word(verdict) : `${sayThenNow(said.verdict, verdict)}. ${said.because}`),
            ),
          },
      ...(lookBack.total > lookBack.rows.length
        ? [
            {
              text: phrase('and {total} more in the Heavy Log', { total: lookBack.total - lookBack.rows.length }),
              color: quiet,
            } as Content,
          ]
        : []),
      {
        text: phrase('Onboard weights are not legal for trade; the certified scale and the local authority decide.'),
        color: quiet,
        margin: [0, 8, 0, 0],
      },
    ],
  }
}
