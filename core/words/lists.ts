/**
 * The item at a place that a loop over places knows to be there: said once here, since the compiler cannot know. Lists
 * of numbers read a million times over (columns of a fleet, weights in bulk) are read where they stand instead: shared
 * by lists of every kind, this costs them several times the read. Errors: RangeError, a programmer's mistake.
 */
export function at<T>(items: ArrayLike<T>, place: number): T {
  const item = items[place]
  if (item === undefined) throw new RangeError(`there is nothing at place ${place} of ${items.length}`)
  return item
}

export const sumOf = <T>(items: readonly T[], of: (item: T, place: number) => number): number =>
  items.reduce((sum, item, place) => sum + of(item, place), 0)
