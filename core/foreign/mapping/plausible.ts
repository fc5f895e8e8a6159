/**
 * What an axle group weighs at least, lb: less is the sign of a number that was read wrongly. From memory: an empty
 * trailer's lightest axle carries well over 1,000 lb.
 */
export const leastGroupLb = 500

/** Lowest and highest value that makes sense, lb and psi as stored. Common trade practice, with room on both sides. */
const sensible = {
  'group weight': [leastGroupLb, 120_000],
  gross: [1000, 400_000],
  pressure: [0, 200],
} as const

/** Whether a value makes sense for what its column means; `stored`: lb or psi. */
export function isPlausible(means: keyof typeof sensible, stored: number): boolean {
  const [least, most] = sensible[means]
  return stored >= least && stored <= most
}
