import { ORPCError } from '@orpc/client'
import { useQuery } from '@tanstack/react-query'
import { useEffect, useLayoutEffect, useState, useSyncExternalStore } from 'react'
import { api } from '#renderer/client/api.ts'
import { followNews, told } from '#renderer/client/follow.ts'
import { followFile } from '#renderer/client/news.ts'
import { useMay } from '#renderer/parts/rights.ts'

/** How often a window asks that is not told of changes. */
const pollMs = 4000

/**
 * The open file. When it moves in another window, what that is about is asked again. `isClosed`: the app says
 * that no fleet file can be worked on, so that its copies are to be shown.
 */
export function useFileState() {
  const isTold = useSyncExternalStore(told.subscribe, told.now)
  const isTellable = useMay()('file.follow')
  useEffect(() => (isTellable ? followNews() : undefined), [isTellable])
  const { data, status, error, isError } = useQuery(
    api.file.state.queryOptions({
      refetchInterval: isTold ? false : pollMs,
      refetchOnWindowFocus: 'always',
      staleTime: 0,
    }),
  )
  // An error is forgotten while the question is asked again: what was said last holds until there is another answer.
  const [isClosed, setClosed] = useState(false)
  useLayoutEffect(() => {
    if (status !== 'pending') setClosed(status === 'error' && error instanceof ORPCError && error.code === 'REFUSED')
  }, [status, error])
  useEffect(() => {
    if (data) followFile(data)
  }, [data])
  return { data, error, isError, isClosed }
}
