import type { HeavySummary } from '#core/contracts/heavy.ts'

export type Tally = Pick<HeavySummary['total'], 'weighings' | 'over' | 'close'>
export type Offenders = NonNullable<HeavySummary['offenders']>

/** The share of weighings that something was found of, 0 to 1. */
export const rateOf = (found: number, { weighings }: Pick<Tally, 'weighings'>): number =>
  weighings === 0 ? 0 : found / weighings

/** Every month from the first to the last, also those in which nothing was weighed. */
export function everyMonth(months: HeavySummary['byMonth']): HeavySummary['byMonth'] {
  const first = months[0]?.month
  const last = months.at(-1)?.month
  if (first === undefined || last === undefined) return []
  const known = new Map(months.map((month) => [month.month, month]))
  const all: HeavySummary['byMonth'] = []
  let [year = 0, month = 1] = first.split('-').map(Number)
  for (;;) {
    const name = `${year}-${String(month).padStart(2, '0')}`
    all.push(known.get(name) ?? { month: name, weighings: 0, over: 0, close: 0 })
    if (name >= last) return all
    month = month === 12 ? 1 : month + 1
    if (month === 1) year += 1
  }
}

/** How many units the chart of offenders has room for. */
export const chartedOffenders = 15
