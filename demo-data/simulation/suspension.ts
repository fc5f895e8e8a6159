import { monthMs } from './clock.ts'
import type { Random } from './random.ts'

/**
 * The air suspension of one axle group. A leveling valve holds ride height, so the spring force, and with it the
 * pressure, follows the load in a straight line:
 *   weight = unsprung + linkage · Σ(springs · area) · pressure
 * Units: lb, in², psi. `linkage` is axle load over spring force (a spring behind the axle of a trailing arm carries
 * less than the axle). The whole line wanders slowly as rubber ages and linkages settle, in psi, as a random walk.
 */
export interface Suspension {
  unsprungLb: number
  slopeLbPerPsi: number
  /** Relative pressure excess of each circuit over the mean that its springs weigh; the weighted sum is zero. */
  circuitExcess: number[]
  wanderPsi: number
  wanderedAt: number
  /** psi per root month. */
  readonly wanderRate: number
}

export function slopeOf(circuits: readonly { airSprings: number; springAreaIn2: number }[], linkage: number): number {
  return linkage * circuits.reduce((sum, { airSprings, springAreaIn2 }) => sum + airSprings * springAreaIn2, 0)
}

/** Lets the line wander on to a moment; earlier moments leave it as it is. */
export function wanderTo(suspension: Suspension, at: number, random: Random): void {
  const months = (at - suspension.wanderedAt) / monthMs
  if (months <= 0) return
  suspension.wanderPsi += random.normal(suspension.wanderRate * Math.sqrt(months))
  suspension.wanderedAt = at
}

/** Mean pressure in psi that carries a group weight, before the leveling valve's own scatter; never below zero. */
export function meanPressurePsi(suspension: Suspension, weightLb: number): number {
  return Math.max(0, (weightLb - suspension.unsprungLb) / suspension.slopeLbPerPsi + suspension.wanderPsi)
}

/**
 * Circuit pressures of one stop: the valve's dead band scatters the mean by `levelingPsi`, and with two circuits the
 * valves also differ from each other by up to about half of that, which leaves the mean alone.
 */
export function circuitPressuresPsi(
  suspension: Suspension,
  weightLb: number,
  levelingPsi: number,
  random: Random,
): number[] {
  const mean = Math.max(0, meanPressurePsi(suspension, weightLb) + random.normal(levelingPsi))
  const excess = suspension.circuitExcess
  const split = excess.length === 2 ? random.normal(levelingPsi / 2) : 0
  return excess.map((share, i) => Math.max(0, mean * (1 + share) + (i === 0 ? split : -split)))
}
