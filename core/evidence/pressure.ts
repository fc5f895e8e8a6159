import type { PressureReference } from '#core/words/vocabulary.ts'

const seaLevelPa = 101_325
const seaLevelK = 288.15
const lapseKPerM = 0.0065
const metresPerFoot = 0.3048
const pascalsPerPsi = 6894.757293168361
/** g0·M / (R·lapse), dimensionless, from the constants of the standard. */
const exponent = (9.80665 * 0.0289644) / (8.31432 * lapseKPerM)

/**
 * Atmospheric pressure in psi at an elevation in ft: p = p0 (1 - L h / T0)^(g0 M / (R L)).
 *
 * Range: -1,500 to 36,000 ft, the standard's lowest layer; taking a map elevation for the geopotential one errs by less
 * than 0.006 psi up to 15,000 ft. Weather moves the true value by about ± 0.3 psi. Errors: RangeError outside the
 * range.
 * Source: U.S. Standard Atmosphere 1976 (NOAA-S/T 76-1562), layer 0 to 11 km.
 */
export function atmosphericPsi(elevationFt: number): number {
  if (!(elevationFt >= -1500 && elevationFt <= 36_000))
    throw new RangeError(`elevation ${elevationFt} ft is outside -1,500 to 36,000 ft`)
  const ratio = 1 - (lapseKPerM * elevationFt * metresPerFoot) / seaLevelK
  return (seaLevelPa * ratio ** exponent) / pascalsPerPsi
}

/**
 * Gauge pressure in psi of a sensor's reading: an absolute sensor also feels the atmosphere at its elevation (ft),
 * which is taken off (U.S. Standard Atmosphere 1976). Null for an absolute sensor at an unknown elevation: a guess
 * would be wrong by half a psi for each 1,000 ft, and nobody would know.
 */
export function gaugePsi(psi: number, reference: PressureReference, elevationFt: number | null): number | null {
  if (reference === 'gauge') return psi
  return elevationFt === null ? null : psi - atmosphericPsi(elevationFt)
}

/**
 * The share of each circuit in its group's mean pressure, adding up to 1: by air springs, or equal shares as soon as
 * one circuit's number is unknown.
 */
export function circuitShares(airSprings: readonly (number | null)[]): number[] {
  const known = airSprings.filter((springs) => springs !== null)
  if (known.length < airSprings.length) return airSprings.map(() => 1 / airSprings.length)
  const total = known.reduce((sum, springs) => sum + springs, 0)
  return known.map((springs) => springs / total)
}
