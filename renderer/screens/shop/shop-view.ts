import type { BenchItemView, BenchPlanView, BenchVisitView } from '#core/contracts/bench.ts'
import { type BenchDay, spanName } from '#core/bench/bench-days.ts'
import { daysBetween, storedDay } from '#core/words/day.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'
import { sentenceCase } from '#renderer/parts/record-text.ts'
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
/** The benches that a list is about: of all yards while none is chosen. */
export const benchDaysOf = (
  { benchDays, visits }: Pick<BenchPlanView, 'benchDays' | 'visits'>,
  yard: string | null | undefined,
): BenchDay[] =>
  benchDays.filter((bench) =>
    // The bench of units without a yard is told where there are such units.
    yard === undefined ? bench.yard !== null || visits.some((visit) => visit.yard === null) : bench.yard === yard,
  )

/** When a span of a plan is, in words; null: the whole plan. */
export const whenWords = (plan: BenchPlanView, yard: string | null | undefined, span: Span): string | null =>
  span === 'all' ? null : spanName(span, benchDaysOf(plan, yard), storedDay(plan.firstDay))

/** What each span is called on its button; the whole plan by its length. */
export function spanLabels(plan: BenchPlanView, yard: string | null | undefined): Record<Span, string> {
  const label = (span: Span) => sentenceCase((whenWords(plan, yard, span) ?? '').replace(/^(on|in) the /, ''))
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

export { noYard, yardName, yardOf } from '#renderer/parts/yards.ts'

const inSpan = ({ when }: BenchVisitView, span: Span): boolean =>
  span === 'all' || when === 'today' || (span === 'this week' && when === 'this week')

/** The visits of a yard (undefined: of all) in a span, in the order of the plan. */
export const visitsIn = ({ visits }: BenchPlanView, yard: string | null | undefined, span: Span): BenchVisitView[] =>
  visits.filter((visit) => (yard === undefined || visit.yard === yard) && inSpan(visit, span))

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
    .map(
      ({ kind, group }) =>
        `${kind === 'recalibration' ? phrase('recalibrate') : phrase('look at')} ${group ?? phrase('the unit')}`,
    )
  return [
    ...(cells === 0 ? [] : [cells === 1 ? phrase('1 cell') : phrase('{cells} cells', { cells })]),
    ...new Set(others),
  ].join(', ')
}

/** Jobs of a plan whose day has passed. */
export const overdueJobs = ({ visits, firstDay }: BenchPlanView, yard: string | null | undefined): number =>
  visits
    .filter((visit) => yard === undefined || visit.yard === yard)
    .reduce((sum, { items }) => sum + items.filter(({ dueOn }) => dueOn < firstDay).length, 0)

/** Visits that the plan cannot make in time, sorted by why. */
export function missedBy({ notMet }: BenchPlanView, yard: string | null | undefined) {
  const own = notMet.filter((each) => yard === undefined || each.yard === yard)
  const by = (because: BenchPlanView['notMet'][number]['because']) => own.filter((each) => each.because === because)
  return { past: by('date already past'), noRoom: by('no room before its date'), noBench: by('no bench time') }
}

/** Why a visit is made: the reason of what is due first, and how many more there are. */
export function whyWords(items: readonly BenchItemView[]): string {
  const [first] = items.toSorted((a, b) => (a.dueOn < b.dueOn ? -1 : a.dueOn > b.dueOn ? 1 : 0))
  if (!first) return ''
  return items.length === 1 ? first.why : phrase('{why} And {items} more.', { why: first.why, items: items.length - 1 })
}
