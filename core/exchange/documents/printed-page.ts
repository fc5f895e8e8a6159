import type { Content, CustomTableLayout, TDocumentDefinitions } from 'pdfmake/interfaces.js'
import { phrase } from '#core/words/phrase.ts'

export const ink = '#1a1f24'
export const quiet = '#4d5761'
export const rule = '#9aa4ad'

/** A page to print: what stands at its foot, beside the number where there are several. */
export const printedPage = (title: string, foot: string): Omit<TDocumentDefinitions, 'content'> => ({
  info: { title, creator: 'Tareline', producer: 'Tareline' },
  pageSize: 'LETTER',
  footer: (page, pages) => ({
    columns: [
      { text: foot, style: 'small' },
      { text: pages > 1 ? phrase('{page} of {pages}', { page, pages }) : '', style: 'small', alignment: 'right' },
    ],
    margin: [40, 12, 40, 0],
  }),
})

/** Rows of a table parted by thin rules, with none between columns. ruleAbove: width of the rule above row i. */
export const ruledRows = (ruleAbove: (i: number) => number): CustomTableLayout => ({
  hLineWidth: ruleAbove,
  vLineWidth: () => 0,
  hLineColor: () => rule,
  paddingLeft: () => 2,
  paddingRight: () => 4,
  paddingTop: () => 2,
  paddingBottom: () => 2,
})

export const boxed = (content: Content): Content => ({
  table: { widths: ['*'], body: [[content]] },
  layout: {
    hLineWidth: () => 0.8,
    vLineWidth: () => 0.8,
    hLineColor: () => ink,
    vLineColor: () => ink,
    paddingLeft: () => 8,
    paddingRight: () => 8,
    paddingTop: () => 4,
    paddingBottom: () => 5,
  },
})
