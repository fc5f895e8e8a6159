import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'
import { generateOperationKey } from '@orpc/tanstack-query'
import { QueryClient, type QueryKey } from '@tanstack/react-query'
import type { FileState } from '#core/contracts/file.ts'
import { type Procedure, type Subject, judged, renewedBy } from '#renderer/client/renewal.ts'

/** The cache of what was asked: it works without a network, and nothing in it ages until the file moves. */
export const queryClient = new QueryClient({
  defaultOptions: {
    queries: { networkMode: 'always', retry: false, staleTime: Number.POSITIVE_INFINITY },
    mutations: { networkMode: 'always', retry: false },
  },
})

const subjectOf = ([path]: QueryKey): unknown => (Array.isArray(path) ? path[0] : undefined)
const stateKey = generateOperationKey(['file', 'state'], { type: 'query' })

/** The open file as it was when all that is on the screen had last been renewed. */
let seen: FileState | undefined

const isSameState = (a: FileState, b: FileState): boolean =>
  a.file === b.file && a.revision === b.revision && a.assessedAt === b.assessedAt && a.madeOf === b.madeOf

/** Everything is asked again once the file has moved on in another window, or was judged anew. */
export function followFile(now: FileState): void {
  const before = seen
  seen = now
  if (!before || isSameState(before, now)) return
  void queryClient.invalidateQueries({ predicate: ({ queryKey }) => subjectOf(queryKey) !== 'file' })
}

/**
 * Whether the file is one revision further than at a moment: then the one save that this window made since is all that
 * happened. Where it was judged anew as well, all that is judged has to be renewed after that save.
 */
const isOneFurther = (before: FileState, now: FileState, subjects: readonly Subject[]): boolean =>
  now.file === before.file &&
  now.revision === before.revision + 1 &&
  ((now.assessedAt === before.assessedAt && now.madeOf === before.madeOf) ||
    judged.every((subject) => subjects.includes(subject)))

/**
 * Asks again what depends on what a procedure changed, and is done once what is on the screen is new. before: the file
 * as it was seen when the procedure began, where that is known.
 */
export async function renewAfter(procedure: Procedure, before?: FileState): Promise<void> {
  const subjects = renewedBy[procedure]
  if (subjects.length === 0) return
  await queryClient.invalidateQueries({ queryKey: stateKey })
  const now = queryClient.getQueryData<FileState>(stateKey)
  if (before && now && seen === before && isOneFurther(before, now, subjects)) seen = now
  const renewed = new Set<unknown>(subjects)
  await queryClient.invalidateQueries({ predicate: ({ queryKey }) => renewed.has(subjectOf(queryKey)) })
}

const isSteps = (answer: unknown): boolean =>
  typeof answer === 'object' && answer !== null && Symbol.asyncIterator in answer
const isTryOut = (input: unknown): boolean =>
  typeof input === 'object' && input !== null && 'tryOut' in input && input.tryOut === true

/**
 * A way to the procedures that renews what depends on a change before its answer is given, so that no screen has to
 * remember to. Where another window was first and the change is refused, what is on the screen is renewed as well. Of
 * an import it is the end that counts: whoever follows its steps calls `renewAfter`.
 */
export const renewing = (link: ClientLink<ClientContext>): ClientLink<ClientContext> => ({
  call: async (path, input, options) => {
    const procedure = path.join('.') as Procedure
    const before = seen
    try {
      const answer = await link.call(path, input, options)
      if (!isSteps(answer) && !isTryOut(input)) await renewAfter(procedure, before)
      return answer
    } catch (error) {
      if (error instanceof ORPCError && error.code === 'CONFLICT') await renewAfter(procedure)
      throw error
    }
  },
})
