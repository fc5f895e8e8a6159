import { makeListeners } from '#renderer/client/listeners.ts'

const changes = makeListeners()
const returns = makeListeners()
let since: number | null = null

/** Whether the house gives no answer, and since when, ms UTC of this device's clock; for `useSyncExternalStore`. */
export const houseAway = {
  subscribe: changes.subscribe,
  since: () => since,
}

/** Has somebody told whenever the house is back; returns how to stop. */
export const onReturn = returns.subscribe

/** Takes down whether the house has answered just now. */
export function noteHouse(answers: boolean): void {
  const was = since
  since = answers ? null : (since ?? Date.now())
  if (since === was) return
  changes.tell()
  if (answers) returns.tell()
}

/** Whether a call found no house at all: nothing came of it that anybody knows of. */
export const foundNobody = (error: unknown): boolean =>
  error instanceof TypeError || (error instanceof DOMException && error.name === 'TimeoutError')
