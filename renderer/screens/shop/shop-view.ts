import type { BenchItemView, BenchPlanView, BenchVisitView } from '#core/contracts/bench.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'

export const shopParts = ['work', 'weigh', 'visits', 'lives', 'cost'] as const
export type ShopPart = (typeof shopParts)[number]
export const partLabels: Record<ShopPart, string> = {
  work: 'Work',
  weigh: 'Weigh this week',
  visits: 'Planned visits',
  lives: 'Cell lives',
  cost: 'Cost',
}

export const spans = ['today', 'this week', 'all'] as const
export type Span = (typeof spans)[number]
export const spanLabels: Record<Span, string> = { today: 'Today', 'this week': 'This week', all: 'All four weeks' }

export { noYard, yardName, yardOf } from '#renderer/parts/yards.ts'

const inSpan = ({ when }: BenchVisitView, span: Span): boolean =>
  span === 'all' || when === 'today' || (span === 'this week' && when === 'this week')

/** The visits of a yard (undefined: of all) in a span, in the order of the plan. */
export const visitsIn = ({ visits }: BenchPlanView, yard: string | null | undefined, span: Span): BenchVisitView[] =>
  visits.filter((visit) => (yard === undefined || visit.yard === yard) && inSpan(visit, span))

/** A visit is found again by these: no unit has two visits of one day at one yard. */
export const visitKey = ({ yard, unit, day }: BenchVisitView): string => `${yard ?? ''}|${unit}|${day}`

/** A cell to swap, by its sensor, and why it most likely comes out. */
export interface CellToSwap {
  readonly serial: string
  readonly reason: BatteryReason
}

export const cellsOf = ({ items }: Pick<BenchVisitView, 'items'>): CellToSwap[] =>
  items.flatMap(({ serial, reason }) => (serial === null || reason === null ? [] : { serial, reason }))

/** The work of a visit in a few words: `2 cells, recalibrate drive`. */
export function workWords(items: readonly BenchItemView[]): string {
  const cells = items.filter(({ kind }) => kind === 'cell').length
  const others = items
    .filter(({ kind }) => kind !== 'cell')
    .map(({ kind, group }) => `${kind === 'recalibration' ? 'recalibrate' : 'look at'} ${group ?? 'the unit'}`)
  return [...(cells === 0 ? [] : [cells === 1 ? '1 cell' : `${cells} cells`]), ...new Set(others)].join(', ')
}

/** What the plan cannot meet, sorted by why. */
export function missedBy({ notMet }: BenchPlanView, yard: string | null | undefined) {
  const own = notMet.filter((each) => yard === undefined || each.yard === yard)
  const by = (because: BenchPlanView['notMet'][number]['because']) => own.filter((each) => each.because === because)
  return { past: by('date already past'), noRoom: by('no room before its date'), noBench: by('no bench time') }
}
