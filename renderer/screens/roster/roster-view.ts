import { keepPreviousData, useQueries, useQuery } from '@tanstack/react-query'
import type { RosterOrderInput, RosterRow } from '#core/contracts/unit.ts'
import { type FindingCode, type Trust, findingCodes, trustStates } from '#core/findings/finding.ts'
import { type UnitKind, unitKinds } from '#core/words/vocabulary.ts'
import { api } from '#renderer/client/api.ts'
import { known, oneOf } from '#renderer/parts/address.ts'
import type { LineSort } from '#renderer/parts/line-grid.tsx'
import { type PagedRows, pageRows, pagesOf, rowsOfPages } from '#renderer/parts/paged-rows.ts'

export const sortableColumns = [
  'unit',
  'trust',
  'finding',
  'age',
  'due',
  'uncertainty',
  'cell',
  'yard',
  'model',
] as const
export type RosterColumn = (typeof sortableColumns)[number]
export interface RosterSort extends LineSort {
  readonly column: RosterColumn
}

/** What the Roster is asked to show; all of it lives in the address. */
export interface RosterView {
  readonly text: string
  readonly trust: ReadonlySet<Trust>
  readonly kind: UnitKind | null
  readonly yard: string | null
  readonly finding: FindingCode | null
  readonly retired: boolean
  readonly sort: RosterSort
  /** Number of the selected unit. */
  readonly at: string | null
}

/** Worst trust first: what needs someone stands at the top. */
const usualSort: RosterSort = { column: 'trust', descending: false }

/** Reads the address; a word that means nothing is left out. */
export function readRosterView(params: URLSearchParams): RosterView {
  const wanted = params.get('trust')?.split(',') ?? []
  const column = oneOf(sortableColumns, params.get('sort'))
  return {
    text: params.get('text') ?? '',
    trust: new Set(trustStates.filter((trust) => wanted.includes(trust))),
    kind: oneOf(unitKinds, params.get('kind')),
    yard: params.get('yard'),
    finding: oneOf(findingCodes, params.get('finding')),
    retired: params.get('retired') === 'yes',
    sort: column ? { column, descending: params.get('order') === 'desc' } : usualSort,
    at: params.get('at'),
  }
}

export const noFilter = { text: null, trust: null, kind: null, yard: null, finding: null }

export const isFiltered = ({ text, trust, kind, yard, finding }: RosterView): boolean =>
  text.trim() !== '' || trust.size > 0 || kind !== null || yard !== null || finding !== null

/** The address's words for a sort: the usual one needs none. */
export const sortParams = ({ column, descending }: RosterSort): { sort: string | null; order: string | null } =>
  column === usualSort.column && !descending
    ? { sort: null, order: null }
    : { sort: column, order: descending ? 'desc' : null }

/** What the Roster is asked with for a view. */
export const orderInput = ({ text, trust, kind, yard, finding, retired, sort }: RosterView): RosterOrderInput => ({
  ...known({ text: text.trim(), trust: trust.size > 0 ? [...trust] : null, kind, yard, finding }),
  retired,
  sort: sort.column,
  descending: sort.descending,
})

const pageOptions = (order: RosterOrderInput, page: number, at: string | null) =>
  api.roster.list.queryOptions({
    input: { ...order, offset: page * pageRows, limit: pageRows, ...known({ at }) },
  })

/** The first page of a Roster, which tells how long it is, and where in it a unit stands. */
export const useFirstPage = (order: RosterOrderInput, at: string | null) =>
  useQuery({ ...pageOptions(order, 0, at), placeholderData: keepPreviousData })

/** The rows at some places of a Roster as far as they are there: whole pages are asked for, and kept. */
export function useRows(
  order: RosterOrderInput,
  first: readonly RosterRow[],
  places: readonly number[],
): PagedRows<RosterRow> {
  const pages = pagesOf(places)
  return rowsOfPages(first, pages, useQueries({ queries: pages.map((page) => pageOptions(order, page, null)) }))
}
