import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import type { HeavyExportRow } from '#core/exchange/documents/heavy-export.ts'
import { ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

export interface HeavyPageHead {
  readonly title: string
  /** YYYY-MM-DD. */
  readonly asOf: string
  readonly file: string
}

const subject = ({ kind, group, set }: HeavyExportRow): string =>
  set
    ? phrase('axles {firstAxle} to {lastAxle}', { firstAxle: set.firstAxle, lastAxle: set.lastAxle })
    : (group ?? wordOf(kind))

function cells(row: HeavyExportRow, say: Say): TableCell[] {
  const { weighedAt, units, unit, weightLb, uLb, limitLb, verdict, lookBack, reading, ticket, scale } = row
  const record =
    reading === null ? phrase('ticket {ticket}, {scale}', { ticket, scale }) : phrase('reading {reading}', { reading })
  return [
    say.day(fromStoredInstant(weighedAt)),
    units.join(' + '),
    `${unit} ${subject(row)}`,
    { text: `${say.weightFigure(weightLb)} ± ${say.plusMinusFigure(uLb)}`, alignment: 'right' },
    { text: say.ticket(limitLb), alignment: 'right' },
    {
      stack: [
        { text: lookBack ? sayThenNow(lookBack.verdict, verdict) : wordOf(verdict), bold: true },
        ...(lookBack ? [{ text: lookBack.because, color: quiet }] : []),
        ...(row.note === null ? [] : [{ text: `“${row.note}”`, color: quiet }]),
      ],
    },
    record,
  ]
}

/** Rows of the Heavy Log to print, in the measures in use. */
export function heavyPageDefinition(
  rows: readonly HeavyExportRow[],
  { title, asOf, file }: HeavyPageHead,
  say: Say,
): TDocumentDefinitions {
  const head = [
    phrase('Day'),
    phrase('Units'),
    phrase('What'),
    phrase('Weight, {weightSymbol}', { weightSymbol: say.measures.weight.symbol }),
    phrase('Limit'),
    phrase('Verdict'),
    phrase('By'),
  ].map((text): TableCell => ({ text, bold: true }))
  const table: Content = {
    table: {
      headerRows: 1,
      dontBreakRows: true,
      widths: [52, 66, 78, 72, 54, '*', 92],
      body: [head, ...rows.map((row) => cells(row, say))],
    },
    layout: ruledRows((i) => (i <= 1 ? 0.8 : 0.3)),
  }
  return {
    ...printedPage(`${title}, ${asOf}`, phrase('{file} · as of {asOf}', { file, asOf })),
    pageOrientation: 'landscape',
    pageMargins: [40, 40, 40, 46],
    defaultStyle: { font: 'Roboto', fontSize: 8.5, color: ink, lineHeight: 1.1 },
    styles: { title: { fontSize: 16, bold: true }, small: { fontSize: 8, color: quiet } },
    content: [
      { text: title, style: 'title' },
      {
        text: phrase(
          '{rows, plural, one {# weight} other {# weights}}, newest last, each with its 95 % interval. Onboard weights are not legal for trade; the certified scale and the local authority decide.',
          { rows: rows.length },
        ),
        color: quiet,
        margin: [0, 2, 0, 8],
      },
      ...(rows.length === 0 ? [] : [table]),
    ],
  }
}
