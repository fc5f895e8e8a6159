import { atmosphericPsi } from '#core/line/atmosphere.ts'
import type { PressureReference } from '#core/fleet/vocabulary.ts'

/**
 * Gauge pressure in psi of a sensor's reading: an absolute sensor also feels the atmosphere at its elevation, which is
 * taken off (U.S. Standard Atmosphere 1976). Unknown elevation counts as sea level; a finding says so where it matters.
 */
export function gaugePsi(psi: number, reference: PressureReference, elevationFt: number | null): number {
  return reference === 'gauge' ? psi : psi - atmosphericPsi(elevationFt ?? 0)
}

/**
 * The share of each circuit in its group's mean pressure, adding up to 1: by air springs, or equal shares as soon as
 * one circuit's number is unknown.
 */
export function circuitShares(airSprings: readonly (number | null)[]): number[] {
  let total = 0
  for (const springs of airSprings) {
    if (springs === null) return airSprings.map(() => 1 / airSprings.length)
    total += springs
  }
  return airSprings.map((springs) => (springs as number) / total)
}
