import { ORPCError } from '@orpc/client'
import { QueryClient, useQuery, useQueryClient } from '@tanstack/react-query'
import { useEffect, useRef } from 'react'
import { api } from '#renderer/client/api.ts'

const pollMs = 4000

/** The cache of what was asked: it works without a network, and nothing in it ages until the file moves. */
export const queryClient = new QueryClient({
  defaultOptions: {
    queries: { networkMode: 'always', retry: false, staleTime: Number.POSITIVE_INFINITY },
    mutations: { networkMode: 'always', retry: false },
  },
})

const stateOptions = () => api.file.state.queryOptions({ refetchInterval: pollMs, refetchOnWindowFocus: 'always', staleTime: 0 })

/** Whether the app says that no fleet file can be worked on, and why: then its copies are to be shown. */
export const isFileClosed = ({ error }: { readonly error: unknown }): boolean => error instanceof ORPCError && error.code === 'REFUSED'

/** The open file. When its revision moves, by this window or another, everything else is asked again. */
export function useFileState() {
  const client = useQueryClient()
  const state = useQuery(stateOptions())
  const seen = useRef<string>(undefined)
  const now = state.data && `${state.data.file} ${state.data.revision} ${state.data.assessedAt}`
  useEffect(() => {
    if (now === undefined) return
    if (seen.current !== undefined && seen.current !== now) {
      void client.invalidateQueries({ predicate: ({ queryKey: [path] }) => !(Array.isArray(path) && path[0] === 'file') })
    }
    seen.current = now
  }, [now, client])
  return state
}
