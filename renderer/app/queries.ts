import { ORPCError } from '@orpc/client'
import { QueryClient, useQuery, useQueryClient } from '@tanstack/react-query'
import { useEffect, useLayoutEffect, useRef, useState } from 'react'
import { api } from '#renderer/client/api.ts'

const pollMs = 4000

/** The cache of what was asked: it works without a network, and nothing in it ages until the file moves. */
export const queryClient = new QueryClient({
  defaultOptions: {
    queries: { networkMode: 'always', retry: false, staleTime: Number.POSITIVE_INFINITY },
    mutations: { networkMode: 'always', retry: false },
  },
})

const stateOptions = () =>
  api.file.state.queryOptions({ refetchInterval: pollMs, refetchOnWindowFocus: 'always', staleTime: 0 })

/**
 * The open file. When its revision moves, by this window or another, everything else is asked again. `isClosed`: the
 * app says that no fleet file can be worked on, so that its copies are to be shown.
 */
export function useFileState() {
  const client = useQueryClient()
  const state = useQuery(stateOptions())
  const seen = useRef<string>(undefined)
  // An error is forgotten while the question is asked again: what was said last holds until there is another answer.
  const [isClosed, setClosed] = useState(false)
  const { status, error } = state
  useLayoutEffect(() => {
    if (status !== 'pending') setClosed(status === 'error' && error instanceof ORPCError && error.code === 'REFUSED')
  }, [status, error])
  const now = state.data && `${state.data.file} ${state.data.revision} ${state.data.assessedAt} ${state.data.madeOf}`
  useEffect(() => {
    if (now === undefined) return
    if (seen.current !== undefined && seen.current !== now) {
      void client.invalidateQueries({
        predicate: ({ queryKey: [path] }) => !(Array.isArray(path) && path[0] === 'file'),
      })
    }
    seen.current = now
  }, [now, client])
  return { data: state.data, error, isError: state.isError, isClosed }
}
