/**
 * Who wants to be told of a change: `subscribe` as `useSyncExternalStore` takes it, `tell` for whoever makes the
 * change.
 */
export function makeListeners() {
  const all = new Set<() => void>()
  return {
    /** Returns how to stop. */
    subscribe: (listener: () => void): (() => void) => {
      all.add(listener)
      return () => {
        all.delete(listener)
      }
    },
    tell: (): void => {
      for (const listener of all) listener()
    },
  }
}
