import type { BenchLivesView } from '#core/contracts/bench.ts'
import { count, decimal } from '#renderer/parts/format.ts'
import { phrase } from '#core/words/phrase.ts'

export type LifeStratum = BenchLivesView['strata'][number]

/** A reporting interval as people say it: `30 s`, `5 min`, `2 h`. */
export function intervalWords(seconds: number | null): string {
  if (seconds === null) return phrase('interval unknown')
  if (seconds < 120) return `${count(seconds)}\u00a0s`
  const [value, unit] = seconds < 7200 ? [seconds / 60, phrase('min')] : [seconds / 3600, 'h']
  return `${Number.isInteger(value) ? count(value) : decimal(value)}\u00a0${unit}`
}

export const stratumName = ({ cell, reportEveryS }: Pick<LifeStratum, 'cell' | 'reportEveryS'>): string =>
  `${cell ?? phrase('cell unknown')}, ${reportEveryS === null ? intervalWords(null) : phrase('every {reportEveryS}', { reportEveryS: intervalWords(reportEveryS) })}`

export const stratumKey = ({ cell, reportEveryS }: Pick<LifeStratum, 'cell' | 'reportEveryS'>): string =>
  `${cell ?? ''}|${reportEveryS ?? ''}`

/** One row of the chart: what was observed and what the law says at an age; absent where nothing is known. */
export interface LifeRow {
  readonly days: number
  law?: number
  lawBand?: [number, number]
  seen?: number
  seenBand?: [number, number]
}

/** Both curves of a stratum over one axis of ages. */
export function lifeRows({ observed, law }: LifeStratum): LifeRow[] {
  const rows = new Map<number, LifeRow>()
  const at = (days: number): LifeRow => {
    const row = rows.get(days) ?? { days }
    rows.set(days, row)
    return row
  }
  law.days.forEach((days, i) => {
    const row = at(days)
    row.law = law.alive[i] as number
    const [low, high] = [law.lower[i], law.upper[i]]
    if (typeof low === 'number' && typeof high === 'number') row.lawBand = [low, high]
  })
  observed.days.forEach((days, i) => {
    const row = at(days)
    row.seen = observed.alive[i] as number
    const [low, high] = [observed.lower[i], observed.upper[i]]
    if (typeof low === 'number' && typeof high === 'number') row.seenBand = [low, high]
  })
  return [...rows.values()].sort((a, b) => a.days - b.days)
}
