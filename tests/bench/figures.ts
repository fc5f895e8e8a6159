/** The middle of several timings: one hiccup of the machine does not move it. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1
    ? (sorted[middle] as number)
    : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2
}

/** The value that so many of all (0 to 1) are at most. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN
}

/**
 * Median time in ms of several runs of the work, after one that is not counted, by the clock and by the processor,
 * which other programs hardly lengthen.
 */
export async function medianTimes(runs: number, work: () => unknown): Promise<{ ms: number; cpuMs: number }> {
  await work()
  const all: { ms: number; cpuMs: number }[] = []
  for (let run = 0; run < runs; run += 1) {
    const started = performance.now()
    const before = process.cpuUsage()
    await work()
    const { user, system } = process.cpuUsage(before)
    all.push({ ms: performance.now() - started, cpuMs: (user + system) / 1000 })
  }
  return { ms: median(all.map(({ ms }) => ms)), cpuMs: median(all.map(({ cpuMs }) => cpuMs)) }
}

/** The first of them alone. */
export const medianMs = async (runs: number, work: () => unknown): Promise<number> => (await medianTimes(runs, work)).ms

const grouped = new Intl.NumberFormat('en-US', { maximumFractionDigits: 0 })
export const whole = (value: number): string => grouped.format(value)
export const seconds = (ms: number): string => `${(ms / 1000).toFixed(2)} s`
export const milliseconds = (ms: number): string => `${ms.toFixed(ms < 10 ? 2 : 0)} ms`
export const megabytes = (bytes: number): string => `${whole(bytes / 1e6)} MB`
export const times = (ratio: number): string => `${ratio.toFixed(2)} x`
