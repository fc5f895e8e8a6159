import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'

/** That somebody has left this browser and the house has not heard of it; all its windows share it. */
const key = 'tareline-leaving'

export const noteLeaving = (): void => localStorage.setItem(key, 'yes')

/**
 * Ends the session of whoever has left while the house gave no answer, before the house is asked anything else: nobody
 * who comes later is taken for that person. Errors: those of a house that gives no answer.
 */
export async function leaveFirst(
  link: ClientLink<ClientContext>,
  options: Parameters<ClientLink<ClientContext>['call']>[2],
): Promise<void> {
  if (localStorage.getItem(key) === null) return
  // One at a time: a second one would end the session of the next person.
  await navigator.locks.request(key, async () => {
    if (localStorage.getItem(key) === null) return
    await link.call(['people', 'signOut'], undefined, options).catch((error: unknown) => {
      // The session had run out.
      if (!(error instanceof ORPCError) || error.status !== 401) throw error
    })
    localStorage.removeItem(key)
  })
}
