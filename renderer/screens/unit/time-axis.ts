import { day } from '#renderer/parts/format.ts'

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
