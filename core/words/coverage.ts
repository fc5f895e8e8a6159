/**
 * What "95 %" means wherever a value is told with ±: the expanded uncertainty U = k u with k = 2 (JCGM 100:2008 (GUM)
 * 6.2 and G.6.6). Tests at another confidence take the normal quantile instead.
 */
export const coverageFactor = 2

/** The half-width of the 95 % interval of a value with this standard uncertainty, in the same unit. */
export const expanded = (u: number): number => coverageFactor * u
