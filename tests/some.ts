/** The list, which must hold something: a loop of checks over an empty one passes and has checked nothing. */
export function some<T>(list: Iterable<T>): readonly T[] {
  const all = [...list]
  if (all.length === 0) throw new Error('there is nothing to check')
  return all
}
