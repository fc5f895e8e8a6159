import type { ScaleFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'

/**
 * Standard uncertainty of one ticket weight as a calibration point, in lb: rounding to the division (rectangular,
 * half-width d/2, so d/√12) and the repeatability of the weighing (fuel, people aboard, position on the platform).
 *
 * The scale's own error is not here: it is common to all tickets of the scale, see `scaleShifts`.
 * Source: JCGM 100:2008 (GUM) 4.3.7 for the rectangular half-width.
 */
export function ticketUncertaintyLb(divisionLb: number, repeatabilityLb: number): number {
  return Math.hypot(divisionLb / Math.sqrt(12), repeatabilityLb)
}

/**
 * Standard uncertainty of a group's pressure, in psi: the resolution of each sensor (r/√12, independent between
 * circuits, weighted as the circuits are) and the leveling repeatability, which the circuits of one group share since
 * one valve or its twin levels them.
 *
 * A sensor's constant offset and gain error are not noise: the line absorbs them while the same sensor stays. Its
 * stated accuracy therefore does not enter.
 */
export function pressureUncertaintyPsi(
  resolutionsPsi: readonly number[],
  shares: readonly number[],
  levelingPsi: number,
): number {
  let variance = levelingPsi * levelingPsi
  for (let i = 0; i < resolutionsPsi.length; i += 1) {
    const part = ((resolutionsPsi[i] as number) * (shares[i] as number)) / Math.sqrt(12)
    variance += part * part
  }
  return Math.sqrt(variance)
}

/** Relative standard uncertainty of a scale's gain, from its tolerance in percent as a rectangular half-width. */
export const scaleGainUncertainty = (tolerancePercent: number): number => tolerancePercent / 100 / Math.sqrt(3)

/** Division of a scale in lb: its own, or the House Rules' where it is not recorded. */
export const divisionOf = (scale: ScaleFacts | undefined, rules: HouseRules): number =>
  scale?.divisionLb ?? rules.scaleDivisionLb

/** Tolerance of a scale in percent: its own, or the House Rules' where it is not recorded. */
export const toleranceOf = (scale: ScaleFacts | undefined, rules: HouseRules): number =>
  scale?.tolerancePercent ?? rules.scaleTolerancePercent
