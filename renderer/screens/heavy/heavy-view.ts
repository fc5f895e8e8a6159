import { keepPreviousData, useQueries, useQuery } from '@tanstack/react-query'
import { type HeavyEntry, type HeavyFilterInput, type HeavySpanInput, heavySortNames } from '#core/contracts/heavy.ts'
import { type HeavySource, type LimitKind, heavySources, limitKinds } from '#core/weight/heavy.ts'
import { type Verdict, verdicts } from '#core/weight/verdict.ts'
import { type LocalDay, parseDay } from '#core/words/day.ts'
import { api } from '#renderer/client/api.ts'
import { known, oneOf } from '#renderer/parts/address.ts'
import type { LineSort } from '#renderer/parts/line-grid.tsx'
import { type PagedRows, pageRows, pagesOf, rowsOfPages } from '#renderer/parts/paged-rows.ts'

export const heavyParts = ['log', 'offenders', 'counts'] as const
export type HeavyPart = (typeof heavyParts)[number]
export type HeavySortName = (typeof heavySortNames)[number]
export interface HeavySort extends LineSort {
  readonly column: HeavySortName
}

/** What the Heavy Log is asked to show; all of it lives in the address. */
export interface HeavyView {
  readonly part: HeavyPart
  readonly unit: string | null
  readonly yard: string | null
  readonly kind: LimitKind | null
  /** Days, both included. */
  readonly from: LocalDay | null
  readonly to: LocalDay | null
  readonly verdict: Verdict | null
  readonly source: HeavySource | null
  /** Also onboard weights about which a ticket has decided. */
  readonly decided: boolean
  /** Only weights of which something else was said before: the look-back. */
  readonly changed: boolean
  readonly sort: HeavySort
}

const dayIn = (text: string | null): LocalDay | null => parseDay(text ?? '') ?? null

/** Newest first. */
const usualSort: HeavySort = { column: 'weighedAt', descending: true }

/** Reads the address; a word that means nothing is left out. */
export function readHeavyView(params: URLSearchParams): HeavyView {
  const column = oneOf(heavySortNames, params.get('sort'))
  return {
    part: oneOf(heavyParts, params.get('part')) ?? 'log',
    unit: params.get('unit'),
    yard: params.get('yard'),
    kind: oneOf(limitKinds, params.get('limit')),
    from: dayIn(params.get('from')),
    to: dayIn(params.get('to')),
    verdict: oneOf(verdicts, params.get('verdict')),
    source: oneOf(heavySources, params.get('source')),
    decided: params.get('decided') === 'yes',
    changed: params.get('changed') === 'yes',
    sort: column ? { column, descending: params.get('order') !== 'asc' } : usualSort,
  }
}

/** The address's words for a sort: the usual one needs none. */
export const sortParams = ({ column, descending }: HeavySort): { sort: string | null; order: string | null } =>
  column === usualSort.column && descending
    ? { sort: null, order: null }
    : { sort: column, order: descending ? null : 'asc' }

/** What narrows every part of the screen. */
export const noSpan = { unit: null, yard: null, limit: null, from: null, to: null }
export const isNarrowed = ({ unit, yard, kind, from, to }: HeavyView): boolean =>
  [unit, yard, kind, from, to].some((part) => part !== null)

/** The part of a view that counts and rates are asked for with. */
export const spanInput = ({ unit, yard, kind, from, to }: HeavyView): HeavySpanInput =>
  known({ unit, yard, kinds: kind && [kind], from, to })

/** What the log and its export are asked for with. */
export const filterInput = (view: HeavyView): HeavyFilterInput => ({
  ...spanInput(view),
  ...known({ verdicts: view.verdict && [view.verdict], sources: view.source && [view.source] }),
  superseded: view.decided,
  changed: view.changed,
})

/** How soon weights that are being made anew are asked for again. */
const againMs = 1500

/** Asks again while the answer rests on a record from before a change. */
export const untilCurrent = {
  refetchInterval: ({ state }: { state: { data: { current: boolean } | undefined } }) =>
    state.data?.current === false ? againMs : false,
}

const listOptions = (view: HeavyView, page: number) =>
  api.heavy.list.queryOptions({
    input: {
      ...filterInput(view),
      sort: view.sort.column,
      descending: view.sort.descending,
      offset: page * pageRows,
      limit: pageRows,
    },
    ...untilCurrent,
  })

/** Farther down than 2²⁴ px a browser places lines at every second pixel only. */
export const mostLines = 500_000

/** The first page of the log, which tells how long it is. */
export const useFirstPage = (view: HeavyView, enabled = true) =>
  useQuery({ ...listOptions(view, 0), enabled, placeholderData: keepPreviousData })

/** The rows at some places of the log as far as they are there: whole pages are asked for, and kept. */
export function useRows(
  view: HeavyView,
  first: readonly HeavyEntry[],
  places: readonly number[],
): PagedRows<HeavyEntry> {
  const pages = pagesOf(places)
  return rowsOfPages(first, pages, useQueries({ queries: pages.map((page) => listOptions(view, page)) }))
}
