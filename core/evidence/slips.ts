import type { TicketFacts } from '#core/evidence/history.ts'

/**
 * How far the weights of a ticket are from its gross, lb, and how far they may be: each of the n weights printed and
 * the gross may be off by one division. Undefined without a gross or without weights.
 */
export function ticketSum(
  { grossLb, weightsLb, together }: TicketFacts,
  divisionLb: number,
): { sumLb: number; errorLb: number; allowedLb: number; weights: number } | undefined {
  const weights = weightsLb.length + together.length
  if (grossLb === null || weights === 0) return undefined
  let sumLb = 0
  for (const weight of weightsLb) sumLb += weight
  for (const { weightLb } of together) sumLb += weightLb
  return { sumLb, errorLb: sumLb - grossLb, allowedLb: (weights + 1) * divisionLb, weights }
}

/**
 * A simple mistake of the hand that would explain a miss, with the value that would fit. It is offered, never applied.
 */
export type Slip =
  | { readonly code: 'digits-transposed'; readonly typedLb: number; readonly fitsLb: number; readonly ticketId: number }
  | {
      readonly code: 'groups-swapped'
      readonly typedLb: number
      readonly fitsLb: number
      readonly ticketId: number
      readonly otherGroupId: number
    }
  | {
      readonly code: 'wrong-pressure-unit'
      readonly unit: 'kPa' | 'bar'
      /** The circuit that was typed so; null for all of them, with their mean as typed. */
      readonly circuitId: number | null
      readonly typedPsi: number
      /** What the sensor then showed, as typed: absolute for an absolute one. */
      readonly fitsPsi: number
    }

/**
 * Every weight that becomes `weightLb` when two neighbouring digits change places, and that the scale could print:
 * whole divisions, no leading zero.
 */
export function transpositions(weightLb: number, divisionLb: number): number[] {
  const digits = String(Math.round(weightLb))
  if (Math.round(weightLb) !== weightLb) return []
  const values = new Set<number>()
  for (let i = 0; i + 1 < digits.length; i += 1) {
    if (i === 0 && digits[1] === '0') continue
    const swapped = Number(digits.slice(0, i) + digits[i + 1] + digits[i] + digits.slice(i + 2))
    const divisions = swapped / divisionLb
    if (swapped !== weightLb && Math.abs(divisions - Math.round(divisions)) < 1e-6) values.add(swapped)
  }
  return [...values]
}

/** Whether a corrected weight makes the ticket's sum right that was wrong; null when the sum says nothing. */
export function sumSupports(ticket: TicketFacts | undefined, correctionLb: number, divisionLb: number): boolean | null {
  const sum = ticket?.complete === true ? ticketSum(ticket, divisionLb) : undefined
  if (!sum || Math.abs(sum.errorLb) <= sum.allowedLb) return null
  return Math.abs(sum.errorLb + correctionLb) <= sum.allowedLb
}
