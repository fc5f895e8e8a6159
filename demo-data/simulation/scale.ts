import type { Random } from './random.ts'

/** A platform scale with its own constant gain error; each axle group stands on a platform of its own. */
export interface Scale {
  readonly name: string
  readonly divisionLb: number
  readonly elevationFt: number
  readonly tolerancePercent: number
  /** Relative error of every weight, unknown to its users. */
  readonly gain: number
  /** Prints one gross weight only. */
  readonly grossOnly: boolean
  nextTicket: number
}

/** The weight in lb that the scale prints: its gain error, rounded to the division. */
export function printedLb(scale: Scale, weightLb: number): number {
  return Math.round((weightLb * (1 + scale.gain)) / scale.divisionLb) * scale.divisionLb
}

/**
 * A gain error within the tolerance, every value alike: what a tolerance says of a scale when nothing else is known.
 */
export function gainWithin(tolerancePercent: number, random: Random): number {
  return random.between(-tolerancePercent, tolerancePercent) / 100
}

export function takeTicketNumber(scale: Scale): string {
  const number = String(scale.nextTicket)
  scale.nextTicket += 1
  return number
}
