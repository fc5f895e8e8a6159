import { describeRange, type Range } from '#core/fleet/range.ts'
import { barPerPsi, kgPerLb, kPaPerPsi, mPerFt } from '#core/fleet/unit-of-measure.ts'

/** Units that may be typed behind a number, each with what one of it is in the stored unit. */
const pressureUnits = { psi: 1, kPa: 1 / kPaPerPsi, bar: 1 / barPerPsi } as const
const weightUnits = { lb: 1, kg: 1 / kgPerLb } as const
const lengthUnits = { ft: 1, m: 1 / mPerFt } as const

/** A typed quantity in its stored unit; empty: nothing was typed. */
export type Typed = { readonly kind: 'empty' } | { readonly kind: 'value'; readonly value: number } | { readonly kind: 'problem'; readonly message: string }

const shape = /^([-+\u2212]?)(\d+(?:[.,]\d+)?|[.,]\d+)\s*([a-z]*)$/i

/** A comma before exactly three digits parts thousands, as in all forms; any other is a decimal one. */
const thousands = /(\d),(?=\d{3}(?!\d))/g

function typedQuantity(text: string, units: Readonly<Record<string, number>>, range: Range, inUse: string): Typed {
  const typed = text.trim()
  if (typed === '') return { kind: 'empty' }
  const match = shape.exec(typed.replace(thousands, '$1'))
  const unit = (match?.[3] || inUse).toLowerCase()
  const factor = Object.entries(units).find(([name]) => name.toLowerCase() === unit)?.[1]
  if (!match || factor === undefined) {
    return { kind: 'problem', message: `\u201c${typed}\u201d is not accepted; a number is, in ${inUse} or with its unit (${Object.keys(units).join(', ')}).` }
  }
  const value = (match[1] === '-' || match[1] === '\u2212' ? -1 : 1) * Number((match[2] as string).replace(',', '.')) * factor
  if (value < range.min || value > range.max) return { kind: 'problem', message: `\u201c${typed}\u201d is not accepted; ${describeRange(range)} is.` }
  return { kind: 'value', value }
}

/** A pressure as typed, psi: `82.5 psi`, `5,6 bar`, `560 kPa`; without a unit in the one in use. */
export const typedPressure = (text: string, range: Range, inUse: string = range.unit): Typed => typedQuantity(text, pressureUnits, range, inUse)

/** A weight as typed, lb: `33,940`, `15400 kg`; without a unit in the one in use. */
export const typedWeight = (text: string, range: Range, inUse: string = range.unit): Typed => typedQuantity(text, weightUnits, range, inUse)

/** A length as typed, ft: `4400 ft`, `1340 m`; without a unit in the one in use. */
export const typedLength = (text: string, range: Range, inUse: string = range.unit): Typed => typedQuantity(text, lengthUnits, range, inUse)

/** A number in the range's own unit and no other. */
export const typedNumber = (text: string, range: Range): Typed => typedQuantity(text, { [range.unit]: 1 }, range, range.unit)

/** The value, or null where nothing usable stands. */
export const typedValue = (typed: Typed): number | null => (typed.kind === 'value' ? typed.value : null)
export const typedProblem = (typed: Typed): string | null => (typed.kind === 'problem' ? typed.message : null)
