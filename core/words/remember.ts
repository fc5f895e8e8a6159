/**
 * Makes what a key asks for once, and remembers so many of those made last: keys that come from a caller, such as a
 * window's locale, may be as many as it likes.
 */
export function remember<T>(most: number): (key: string, make: () => T) => T {
  const made = new Map<string, T>()
  return (key, make) => {
    const found = made.get(key)
    if (found !== undefined) return found
    const value = make()
    made.set(key, value)
    const [oldest] = made.keys()
    if (made.size > most && oldest !== undefined) made.delete(oldest)
    return value
  }
}
