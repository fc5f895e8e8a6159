import { axisStyle } from '#renderer/parts/chart-or-table.tsx'
import { type Measures, day } from '#renderer/parts/format.ts'
import type { LineSeries } from '../line/line-series.ts'

/** The charts of a group share it, so that the same pressure stands at the same place. */
export function pressureAxis({ fromPsi, toPsi }: LineSeries, { pressure }: Measures) {
  const tens = Array.from({ length: (toPsi - fromPsi) / 10 + 1 }, (_, i) => pressure.shown(fromPsi + 10 * i))
  return {
    ...axisStyle,
    dataKey: 'psi',
    type: 'number' as const,
    domain: [pressure.shown(fromPsi), pressure.shown(toPsi)],
    ticks: tens,
  }
}

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

const dayMs = 86_400_000
const daySteps = [1, 2, 7, 14]
const monthSteps = [1, 2, 3, 6, 12, 24, 60]

/**
 * Local midnights to label on a time axis from `from` to `to` (ms), `most` at the most: whole days of a short stretch,
 * firsts of months of a long one.
 */
export function timeTicks(from: number, to: number, most = 9): number[] {
  const step = daySteps.find((days) => (to - from) / (days * dayMs) <= most)
  const start = new Date(from)
  const at = (i: number) =>
    step === undefined
      ? new Date(start.getFullYear(), i, 1).getTime()
      : new Date(start.getFullYear(), start.getMonth(), start.getDate() + i * step).getTime()
  const months =
    step === undefined ? (monthSteps.find((count) => (to - from) / (count * 30.4 * dayMs) <= most) ?? 120) : 1
  const ticks: number[] = []
  for (let i = 0; at(i) <= to; i += months) if (at(i) >= from) ticks.push(at(i))
  return ticks
}

/** A tick as its day, or as its month where only firsts of months are labelled. */
export function tickLabel(at: number, ticks: readonly number[]): string {
  const text = day(new Date(at).toISOString())
  return ticks.every((tick) => new Date(tick).getDate() === 1) ? text.slice(0, 7) : text
}
