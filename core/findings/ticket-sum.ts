import type { TicketFacts } from '#core/fleet/history.ts'

/**
 * How far the weights of a ticket are from its gross, lb, and how far they may be: each of the n weights and the gross
 * may be off by one division. Undefined without a gross or without weights.
 */
export function ticketSum(
  { grossLb, weightsLb }: TicketFacts,
  divisionLb: number,
): { sumLb: number; errorLb: number; allowedLb: number } | undefined {
  if (grossLb === null || weightsLb.length === 0) return undefined
  let sumLb = 0
  for (const weight of weightsLb) sumLb += weight
  return { sumLb, errorLb: sumLb - grossLb, allowedLb: (weightsLb.length + 1) * divisionLb }
}
