import type { BenchItemView, BenchPlanView, BenchVisitView } from '#core/contracts/bench.ts'
import { spanName } from '#core/bench/bench-days.ts'
import { daysBetween, storedDay } from '#core/words/day.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'
import { sentenceCase } from '#renderer/parts/record-text.ts'
import { yardOf } from '#renderer/parts/yards.ts'
import { phrase } from '#core/words/phrase.ts'

export const shopParts = ['work', 'weigh', 'visits', 'order', 'lives', 'cost'] as const
export type ShopPart = (typeof shopParts)[number]
export const partLabels: Record<ShopPart, string> = {
  work: phrase('Work'),
  weigh: phrase('Weigh this week'),
  visits: phrase('Planned visits'),
  order: phrase('Cells to order'),
  lives: phrase('Cell lives'),
  cost: phrase('Cost'),
}

export const spans = ['today', 'this week', 'all'] as const
export type Span = (typeof spans)[number]

/** When a span of a listed plan is, in words. */
const whenWords = ({ benchDays, firstDay }: BenchPlanView, span: Exclude<Span, 'all'>): string =>
  spanName(span, benchDays, storedDay(firstDay))

/** What each span is called on its button; the whole plan by its length. */
export function spanLabels(plan: BenchPlanView): Record<Span, string> {
  const label = (span: Exclude<Span, 'all'>) => sentenceCase(whenWords(plan, span).replace(/^(on|in) the /, ''))
  const today = storedDay(plan.firstDay)
  const weeks = (daysBetween(today, storedDay(plan.lastDay)) + 1) / 7
  return {
    today: label('today'),
    'this week': label('this week'),
    all:
      Number.isInteger(weeks) && weeks > 1
        ? phrase('All {weeks} weeks', { weeks })
        : phrase('Through {lastDay}', { lastDay: plan.lastDay }),
  }
}

export { noYard, yardName } from '#renderer/parts/yards.ts'

/** Visits that are asked for at a time. */
export const visitsAtOnce = 100

/** Which visits the address asks for. */
export const listOf = (params: URLSearchParams): { yard: string | null | undefined; when: Span } => ({
  yard: yardOf(params.get('yard')),
  when: spans.find((each) => each === params.get('when')) ?? 'this week',
})

/** A visit is found again by these: no unit has two visits of one day at one yard. */
export const visitKey = ({ yard, unit, day }: BenchVisitView): string => `${yard ?? ''}|${unit}|${day}`

/** A cell to swap, by its sensor, where that sits, and why it most likely comes out. */
export interface CellToSwap {
  readonly serial: string
  readonly place: string
  readonly reason: BatteryReason
}

export const cellsOf = ({ unit, items }: Pick<BenchVisitView, 'unit' | 'items'>): CellToSwap[] =>
  items.flatMap(({ serial, reason, group, circuit }) =>
    serial === null || reason === null
      ? []
      : { serial, reason, place: [unit, group, circuit].filter((name) => name !== null).join(' ') },
  )

/** The work of a visit in a few words: `2 cells, recalibrate drive`. */
export function workWords(items: readonly BenchItemView[]): string {
  const cells = items.filter(({ kind }) => kind === 'cell').length
  const others = items
    .filter(({ kind }) => kind !== 'cell')
    // A first calibration is none anew: which of the two it is stands in what is to be done.
    .map(({ kind, what, group }) =>
      kind === 'recalibration'
        ? `${what.charAt(0).toLocaleLowerCase()}${what.slice(1)}`
        : `${phrase('look at')} ${group ?? phrase('the unit')}`,
    )
  return [
    ...(cells === 0 ? [] : [cells === 1 ? phrase('1 cell') : phrase('{cells} cells', { cells })]),
    ...new Set(others),
  ].join(', ')
}

/** Why a visit is made: the reason of what is due first, and how many more there are. */
export function whyWords(items: readonly BenchItemView[]): string {
  const [first] = items.toSorted((a, b) => (a.dueOn < b.dueOn ? -1 : a.dueOn > b.dueOn ? 1 : 0))
  if (!first) return ''
  return items.length === 1 ? first.why : phrase('{why} And {items} more.', { why: first.why, items: items.length - 1 })
}
