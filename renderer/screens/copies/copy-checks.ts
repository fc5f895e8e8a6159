import { useQueryClient } from '@tanstack/react-query'
import { useEffect, useState } from 'react'
import type { CopyVerdict } from '#core/api/copies-contract.ts'
import { api } from '#renderer/client/api.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'

/**
 * As many whole copies as are looked for unasked, newest first: a copy is read through, which takes seconds where it is
 * large.
 */
const wholeWanted = 3

export type CopyCheck = CopyVerdict | 'checking' | undefined

/** Whether copies are whole: the newest are read through one after the other, any other when it is asked for. */
export function useCopyChecks(names: readonly string[]): {
  check: (name: string) => CopyCheck
  ask: (name: string) => void
} {
  const client = useQueryClient()
  const [checks, setChecks] = useState<ReadonlyMap<string, CopyVerdict | 'checking'>>(new Map())
  const set = (name: string, check: CopyVerdict | 'checking') => setChecks((known) => new Map(known).set(name, check))
  const read = async (name: string): Promise<CopyVerdict> => {
    set(name, 'checking')
    // A copy is asked for whatever the file is like, and its answer does not age.
    const verdict = await client
      .fetchQuery(api.copies.check.queryOptions({ input: { name } }))
      .catch((error: unknown) => ({ sound: false, message: problemText(error) }))
    set(name, verdict)
    return verdict
  }
  const key = names.join('\n')
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list is told by its names, and reading it again is what is asked for then
  useEffect(() => {
    let isShown = true
    const readNewest = async () => {
      let whole = 0
      for (const name of names) {
        if (!isShown || whole === wholeWanted) return
        if ((await read(name)).sound) whole += 1
      }
    }
    void readNewest()
    return () => {
      isShown = false
    }
  }, [key])
  return { check: (name) => checks.get(name), ask: (name) => void read(name) }
}
