type Listener = () => void
const listeners = new Set<Listener>()
const returns = new Set<Listener>()
let since: number | null = null

/** Whether the house gives no answer, and since when, ms UTC of this device's clock; for `useSyncExternalStore`. */
export const houseAway = {
  subscribe: (listener: Listener) => {
    listeners.add(listener)
    return () => {
      listeners.delete(listener)
    }
  },
  since: () => since,
}

/** Has somebody told whenever the house is back; returns how to stop. */
export function onReturn(listener: Listener): () => void {
  returns.add(listener)
  return () => {
    returns.delete(listener)
  }
}

/** Takes down whether the house has answered just now. */
export function noteHouse(answers: boolean): void {
  const was = since
  since = answers ? null : (since ?? Date.now())
  if (since === was) return
  for (const listener of listeners) listener()
  if (answers) for (const listener of returns) listener()
}

/** Whether a call found no house at all: nothing came of it that anybody knows of. */
export const foundNobody = (error: unknown): boolean =>
  error instanceof TypeError || (error instanceof DOMException && error.name === 'TimeoutError')
