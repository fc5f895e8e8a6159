import { generateOperationKey } from '@orpc/tanstack-query'
import { QueryClient, type QueryKey } from '@tanstack/react-query'

/** The cache of what was asked: it works without a network, and nothing in it ages until the file moves. */
export const queryClient = new QueryClient({
  defaultOptions: {
    queries: { networkMode: 'always', retry: false, staleTime: Number.POSITIVE_INFINITY },
    mutations: { networkMode: 'always', retry: false },
  },
})

/** The subject of the procedure that a question goes to. */
export const subjectOf = ([path]: QueryKey): unknown => (Array.isArray(path) ? path[0] : undefined)

/** The procedure itself, as `unit.sheet`. */
export const procedureOf = ([path]: QueryKey): unknown => (Array.isArray(path) ? path.join('.') : undefined)

export const stateKey = generateOperationKey(['file', 'state'], { type: 'query' })
/** The units to choose from, by what was looked for. */
export const picksKey = generateOperationKey(['weigh', 'combinations'])
/** The pages of the Roster. */
export const rosterKey = generateOperationKey(['roster', 'list'])
