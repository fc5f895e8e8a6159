import type { Quantity } from '#renderer/parts/format.ts'

/** The smallest step of 1, 2 or 5 times a power of ten that divides a span into at most `most` parts. */
export function niceStep(span: number, most: number): number {
  const power = 10 ** Math.floor(Math.log10(span / most))
  return ([1, 2, 5].find((digit) => span / (digit * power) <= most) ?? 10) * power
}

/** Multiples of a step from `low` to `high`. */
export const multiples = (low: number, high: number, step: number): number[] =>
  Array.from(
    { length: Math.floor(high / step + 1e-9) - Math.ceil(low / step - 1e-9) + 1 },
    (_, i) => (Math.ceil(low / step - 1e-9) + i) * step,
  )

/** Round numbers, in shown units, that divide a stretch of stored values into at most `most` parts. */
export function roundTicks(low: number, high: number, { shown }: Pick<Quantity, 'shown'>, most: number): number[] {
  const [from, to] = [shown(low), shown(high)]
  return multiples(from, to, niceStep(to - from, most))
}
