import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import { cautions, stepsOf } from '#core/bench/steps.ts'
import { type SheetItem, type SheetVisit, seatOf } from '#core/exchange/documents/bench-lists.ts'
import { sayWorkDue } from '#core/findings/next-due.ts'
import { ink, quiet, printedPage, boxed, ruledRows } from '#core/exchange/documents/printed-page.ts'
import type { MeasureSet } from '#core/words/measures.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

const kindNames = spoken({
  cell: phraseLater('Cell'),
  recalibration: phraseLater('Recalibration'),
  repair: phraseLater('Repair'),
})

/** An empty box to tick with a pen; a new one each time, since the layout writes into it. */
const box = (): TableCell => ({
  canvas: [{ type: 'rect', x: 0, y: 2, w: 9, h: 9, lineWidth: 0.8, lineColor: ink }],
})

const itemRow = (item: SheetItem): TableCell[] => [
  box(),
  kindNames[item.kind],
  seatOf(item),
  {
    stack: [
      item.what,
      { text: phrase('Why: {why}', { why: item.why }), color: quiet, fontSize: 8 },
      { text: phrase('Next: {next}', { next: item.next }), color: quiet, fontSize: 8 },
    ],
  },
  phrase('due {dueOn}', { dueOn: sayWorkDue(item) }),
]

function visitBlock(visit: SheetVisit): Content {
  const { unit, minutes, dueOn, lateDays, plannedOn, day, untilDay, items } = visit
  const about = [
    phrase('{minutes} min', { minutes }),
    lateDays > 0
      ? phrase('was due {dueOn}, {lateDays, plural, one {# day} other {# days}} late', { dueOn, lateDays })
      : phrase('due {dueOn}', { dueOn: sayWorkDue(visit) }),
    ...(plannedOn === null ? [phrase('call in')] : [phrase('planned visit')]),
    ...(untilDay === day ? [] : [phrase('stays until {untilDay}', { untilDay })]),
  ]
  return {
    unbreakable: items.length <= 12,
    margin: [0, 6, 0, 2],
    stack: [
      {
        columns: [
          { text: phrase('Unit {unit}', { unit }), bold: true, fontSize: 11, width: 'auto' },
          { text: about.join(' · '), color: quiet, margin: [8, 1.5, 0, 0] },
        ],
      },
      {
        table: { headerRows: 0, widths: [12, 62, 80, '*', 70], body: items.map(itemRow) },
        layout: ruledRows((i) => (i === 0 ? 0.6 : 0.3)),
        margin: [0, 2, 0, 0],
      },
      {
        text: phrase('Done on {repeat}  by {repeat2}{some}', {
          repeat: '_'.repeat(14),
          repeat2: '_'.repeat(20),
          some: items.some(({ kind }) => kind === 'cell')
            ? phrase('  cell type, and reason: scheduled, low or dead {repeat}', { repeat: '_'.repeat(30) })
            : '',
        }),
        color: quiet,
        fontSize: 7.5,
        margin: [16, 6, 0, 2],
      },
    ],
  }
}

export interface WorkListHead {
  /** What is listed, such as `Work of this week`. */
  readonly title: string
  /** YYYY-MM-DD. */
  readonly asOf: string
  readonly file: string
  /** What to say where nothing is listed. */
  readonly whyEmpty: string
  readonly measures: MeasureSet
}

/**
 * The shop's work list to print: the cautions first, then the work by yard and day with boxes to tick, the steps last.
 */
export function workListDefinition(
  visits: readonly SheetVisit[],
  { title, asOf, file, whyEmpty, measures }: WorkListHead,
): TDocumentDefinitions {
  const body: Content[] = []
  let yardAndDay = ''
  for (const visit of visits) {
    const heading = `${visit.yard ?? phrase('No yard')} · ${visit.day}`
    if (heading !== yardAndDay) body.push({ text: heading, style: 'heading', headlineLevel: 1 })
    yardAndDay = heading
    body.push(visitBlock(visit))
  }
  const kinds = (['cell', 'recalibration', 'repair'] as const).filter((kind) =>
    visits.some(({ items }) => items.some((item) => item.kind === kind)),
  )
  const cells = visits.reduce((sum, { items }) => sum + items.filter(({ kind }) => kind === 'cell').length, 0)
  const minutes = visits.reduce((sum, visit) => sum + visit.minutes, 0)
  return {
    ...printedPage(`${title}, ${asOf}`, phrase('{file} · as of {asOf}', { file, asOf })),
    pageMargins: [40, 46, 40, 46],
    defaultStyle: { font: 'Roboto', fontSize: 9, color: ink, lineHeight: 1.1 },
    styles: {
      title: { fontSize: 16, bold: true },
      heading: { fontSize: 12, bold: true, margin: [0, 12, 0, 0] },
      small: { fontSize: 8, color: quiet },
    },
    pageBreakBefore: ({ headlineLevel, pageNumbers }, nodes) =>
      headlineLevel === 1 && pageNumbers.length > 0 && nodes.getFollowingNodesOnPage().length === 0,
    content: [
      { text: title, style: 'title' },
      {
        text:
          visits.length === 0
            ? whyEmpty
            : phrase(
                '{visits, plural, one {# unit visit} other {# unit visits}} · {cells, plural, one {# cell} other {# cells}} to take along · {round, number} h of work',
                { visits: visits.length, cells, round: Math.round(minutes / 6) / 10 },
              ),
        margin: [0, 2, 0, 8],
        color: quiet,
      },
      boxed({
        stack: [
          { text: phrase('Before working on the vehicle'), bold: true, margin: [0, 0, 0, 2] },
          { ul: [...cautions()] },
        ],
      }),
      ...body,
      ...kinds.map(
        (kind): Content => ({
          unbreakable: true,
          margin: [0, 12, 0, 0],
          stack: [
            { text: phrase('{kind}: steps', { kind: kindNames[kind] }), bold: true, margin: [0, 0, 0, 2] },
            { ol: stepsOf(kind, measures).map(({ text }) => text) },
          ],
        }),
      ),
    ],
  }
}
