import type { Range } from '#core/fleet/range.ts'
import type { Quantity } from '#renderer/parts/format.ts'

/** A typed quantity in its stored unit; empty: nothing was typed. */
export type Typed =
  | { readonly kind: 'empty' }
  | { readonly kind: 'value'; readonly value: number }
  | { readonly kind: 'problem'; readonly message: string }

/**
 * A quantity as typed where nothing may stand as well: `82.5 psi`, `5,6 bar`, `33,940`; without a unit in the one in
 * use.
 */
export function typedQuantity(text: string, range: Range, quantity: Quantity): Typed {
  if (text.trim() === '') return { kind: 'empty' }
  const read = quantity.read(text, range)
  return read.ok ? { kind: 'value', value: read.value } : { kind: 'problem', message: read.problem.message }
}

/** The value, or null where nothing usable stands. */
export const typedValue = (typed: Typed): number | null => (typed.kind === 'value' ? typed.value : null)
export const typedProblem = (typed: Typed): string | null => (typed.kind === 'problem' ? typed.message : null)
