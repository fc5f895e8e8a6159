import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'
import type { QueryKey } from '@tanstack/react-query'
import type { FileState } from '#core/contracts/file.ts'
import { lastSeen, settleAt, toldOf } from '#renderer/client/news.ts'
import { queryClient, stateKey, subjectOf } from '#renderer/client/query-client.ts'
import type { Procedure, Subject } from '#core/contracts/contract.ts'
import { judged, renewedBy, toldAtOnce } from '#renderer/client/renewal.ts'

/**
 * Whether the file is one revision further than at a moment: then the one save that this window made since is all that
 * happened. Where it was judged anew as well, all that is judged has to be renewed after that save.
 */
const isOneFurther = (before: FileState, now: FileState, subjects: readonly Subject[]): boolean =>
  now.file === before.file &&
  now.revision === before.revision + 1 &&
  ((now.assessedAt === before.assessedAt && now.madeOf === before.madeOf && now.renewals === before.renewals) ||
    judged.every((subject) => subjects.includes(subject)))

/**
 * Asks again what depends on what a procedure changed, and is done once what is on the screen is new. before: the file
 * as it was seen when the procedure began, where that is known. A window that is told of changes is told of its own as
 * well, and has only to wait for the answers.
 */
export async function renewAfter(procedure: Procedure, before?: FileState): Promise<void> {
  const subjects = renewedBy[procedure]
  if (subjects.length === 0) return
  await queryClient.invalidateQueries({ queryKey: stateKey })
  const now = queryClient.getQueryData<FileState>(stateKey)
  const renewed = new Set<unknown>(subjects)
  const predicate = ({ queryKey }: { readonly queryKey: QueryKey }) => renewed.has(subjectOf(queryKey))
  if (before && now && now.file === before.file && now.revision > before.revision && (await toldOf(now))) {
    await queryClient.refetchQueries({ predicate, type: 'active', stale: true }, { cancelRefetch: false })
    return
  }
  if (before && now && isOneFurther(before, now, subjects)) settleAt(now, before)
  await queryClient.invalidateQueries({ predicate })
}

const isSteps = (answer: unknown): boolean =>
  typeof answer === 'object' && answer !== null && Symbol.asyncIterator in answer
const isTryOut = (input: unknown): boolean =>
  typeof input === 'object' && input !== null && 'tryOut' in input && input.tryOut === true

/**
 * A way to the procedures that renews what depends on a change before its answer is given, or beside it where nobody
 * has to wait for that, so that no screen has to remember to. Where another window was first and the change is refused,
 * what is on the screen is renewed as well. Of an import it is the end that counts: whoever follows its steps calls
 * `renewAfter`.
 */
export const renewing = (link: ClientLink<ClientContext>): ClientLink<ClientContext> => ({
  call: async (path, input, options) => {
    const procedure = path.join('.') as Procedure
    const before = lastSeen()
    try {
      const answer = await link.call(path, input, options)
      if (!isSteps(answer) && !isTryOut(input)) {
        const renewed = renewAfter(procedure, before)
        // What could not be asked again says so where it stands.
        if (toldAtOnce.has(procedure)) renewed.catch(() => undefined)
        else await renewed
      }
      return answer
    } catch (error) {
      if (error instanceof ORPCError && error.code === 'CONFLICT') await renewAfter(procedure)
      throw error
    }
  },
})
