import { useEffect, useSyncExternalStore } from 'react'

let example: string | null = null
const listeners = new Set<() => void>()

function put(sentence: string | null): void {
  example = sentence
  for (const listen of listeners) listen()
}

/** Gives the help of this screen an example out of what is on it, for as long as that is shown; null: there is none. */
export function useHelpExample(sentence: string | null): void {
  useEffect(() => {
    put(sentence)
    return () => put(null)
  }, [sentence])
}

/** The example of the screen that is shown. */
export const useExampleShown = (): string | null =>
  useSyncExternalStore(
    (listen) => {
      listeners.add(listen)
      return () => listeners.delete(listen)
    },
    () => example,
  )
