import { addDays, dayOf, monthOf, startOfDay, storedDay } from '#core/words/day.ts'
import { dayMs } from '#core/words/instant.ts'

const daySteps = [1, 2, 7, 14]
const monthSteps = [1, 2, 3, 6, 12, 24, 60]

/**
 * The fleet's midnights to label on a time axis from `from` to `to` (ms), `most` at the most: whole days of a short
 * stretch, firsts of months of a long one.
 */
export function timeTicks(from: number, to: number, zone: string, most = 9): number[] {
  const step = daySteps.find((days) => (to - from) / (days * dayMs) <= most)
  const first = dayOf(from, zone)
  const year = Number(first.slice(0, 4))
  const dayAt = (i: number) =>
    step === undefined
      ? storedDay(`${year + Math.floor(i / 12)}-${String((i % 12) + 1).padStart(2, '0')}-01`)
      : addDays(first, i * step)
  const at = (i: number) => startOfDay(dayAt(i), zone)
  const months =
    step === undefined ? (monthSteps.find((count) => (to - from) / (count * 30.4 * dayMs) <= most) ?? 120) : 1
  const ticks: number[] = []
  for (let i = 0; at(i) <= to; i += months) if (at(i) >= from) ticks.push(at(i))
  return ticks
}

/** A tick as its day, or as its month where only firsts of months are labelled. */
function tickLabel(at: number, ticks: readonly number[], zone: string): string {
  const day = dayOf(at, zone)
  return ticks.every((tick) => dayOf(tick, zone).endsWith('-01')) ? monthOf(day) : day
}

/** A horizontal axis of times, ms UTC. */
export function timeAxis({ from, to }: { readonly from: number; readonly to: number }, zone: string) {
  const ticks = timeTicks(from, to, zone)
  return {
    dataKey: 'at',
    type: 'number' as const,
    scale: 'time' as const,
    domain: [from, to],
    ticks,
    tickFormatter: (at: number) => tickLabel(at, ticks, zone),
    allowDataOverflow: true,
  }
}
