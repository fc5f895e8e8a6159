/** Distance of a value from its reference as a fraction of the reference. */
export const relativeError = (actual: number, reference: number): number =>
  Math.abs(actual - reference) / Math.abs(reference)

/** Half a unit in the last of a number of printed decimals: how far a value may lie from its printed form. */
export const halfUnit = (decimals: number): number => 0.5000001 * 10 ** -decimals

/** Points from parallel columns, as the published examples print them. */
export function pointsOf(x: readonly number[], y: readonly number[], ux: readonly number[], uy: readonly number[]) {
  return x.map((value, i) => ({ x: value, y: y[i] as number, ux: ux[i] as number, uy: uy[i] as number }))
}
