import { keepPreviousData, useQueries, useQuery } from '@tanstack/react-query'
import type { HeavyEntry } from '#core/api/heavy-contract.ts'
import { api } from '#renderer/client/api.ts'
import { filterInput, type HeavyView } from './heavy-view.ts'

const pageRows = 100
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

export interface Rows {
  readonly rowAt: (index: number) => HeavyEntry | undefined
  /** Every row that is there, with its place. */
  readonly loaded: readonly (readonly [number, HeavyEntry])[]
  readonly error: unknown
}

/** The rows at some places of the log as far as they are there: whole pages are asked for, and kept. */
export function useRows(view: HeavyView, first: readonly HeavyEntry[], places: readonly number[]): Rows {
  const pages = [...new Set(places.map((place) => Math.floor(place / pageRows)))].filter((page) => page > 0)
  const answers = useQueries({ queries: pages.map((page) => listOptions(view, page)) })
  const rows = new Map<number, HeavyEntry>(first.entries())
  for (const [i, { data }] of answers.entries()) {
    for (const [at, row] of (data?.rows ?? []).entries()) rows.set((pages[i] as number) * pageRows + at, row)
  }
  return { rowAt: (index) => rows.get(index), loaded: [...rows], error: answers.find(({ isError }) => isError)?.error }
}
