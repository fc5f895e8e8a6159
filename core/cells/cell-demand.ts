import { type Chances, type CountRange, countRange } from '#core/cells/count-range.ts'
import type { StratumLaw } from '#core/cells/life-model.ts'
import { type LawNode, lawNodes } from '#core/cells/outlook.ts'
import { at, sumOf } from '#core/words/lists.ts'

/** A cell in service, as far as its replacement needs it. */
export interface CellInUse {
  /** null: the unit has no yard. */
  readonly yardId: number | null
  /** As `cellTypeOf` writes it. */
  readonly cell: string | null
  readonly law: StratumLaw
  readonly ageDays: number
  /** Its sensor is silent: it is replaced on its day, whatever the law says. */
  readonly dead: boolean
  /** Days from today until it is swapped if it lives so long, 0 or more. */
  readonly swapInDays: number
  /** Age at which one put in now is swapped in its turn, more than 0. */
  readonly swapAgeDays: number
}

/** A stretch of whole days counted from today, the last not included. */
export interface DaySpan {
  readonly from: number
  readonly to: number
}

/** How many cells of a type a yard takes in each month, and from the first through each. */
export interface CellDemand {
  readonly yardId: number | null
  readonly cell: string | null
  /** In service today. */
  readonly cells: number
  readonly months: readonly CountRange[]
  readonly through: readonly CountRange[]
}

/** A later cell of a sensor is left out where it is so unlikely to be needed. */
const leastShare = 1e-4
/** No sensor takes more cells than this after its present one within the months. */
const mostInTurn = 12
/** A chance below this changes no count. */
const leastChance = 1e-9

/**
 * The cells that a sensor takes after one that is put in fresh, under one law: for each day on which that may be, and
 * each month, the chance that the first, second, … replacement falls there. Worked out day by day: a cell that dies or
 * is swapped is replaced on that day.
 */
class InTurn {
  /** By turn; within it by day, then month. */
  readonly turns: Float64Array[] = []

  constructor({ lifeDays, shape }: LawNode, swapAgeDays: number, months: readonly DaySpan[]) {
    const days = at(months, months.length - 1).to
    const width = months.length
    const swapAge = Math.max(1, Math.round(swapAgeDays))
    const alive = (age: number) => Math.exp(-((age / lifeDays) ** shape))
    /** Share of fresh cells that are replaced at an age of so many whole days. */
    const share = Float64Array.from({ length: days }, (_, age) =>
      age > swapAge ? 0 : alive(age) - (age === swapAge ? 0 : alive(age + 1)),
    )
    const monthOn = Int32Array.from({ length: days }, (_, day) => months.findIndex(({ to }) => day < to))
    let last: Float64Array | undefined
    for (let turn = 0; turn < mostInTurn; turn += 1) {
      const next = new Float64Array(days * width)
      for (let day = 0; day < days; day += 1) {
        const row = day * width
        for (let on = day; on < days; on += 1) {
          // Read where they stand: this is done some million times.
          const part = share[on - day] as number
          if (part === 0) continue
          if (last === undefined) {
            const place = row + (monthOn[on] as number)
            next[place] = (next[place] as number) + part
          } else
            for (let month = 0; month < width; month += 1)
              next[row + month] = (next[row + month] as number) + part * (last[on * width + month] as number)
        }
      }
      // A cell put in today has the most time to be replaced.
      if (sumOf([...next.subarray(0, width)], (chance) => chance) < leastShare) return
      this.turns.push(next)
      last = next
    }
  }
}

/** Chances of a row under one law: by month, and from the first month through each. */
interface RowChances {
  readonly months: number[][]
  readonly through: number[][]
}

/** Takes up the chances of one replacement by months. */
function takeUp({ months, through }: RowChances, chances: Float64Array): void {
  let sum = 0
  for (let month = 0; month < chances.length; month += 1) {
    const chance = chances[month] as number
    sum = Math.min(1, sum + chance)
    if (chance > leastChance) at(months, month).push(chance)
    if (sum > leastChance) at(through, month).push(sum)
  }
}

/** Takes up the chances of one sensor's first, second, … replacement under one law. */
function takeSensor(
  row: RowChances,
  { ageDays, dead, swapInDays }: CellInUse,
  { lifeDays, shape }: LawNode,
  inTurn: InTurn,
  months: readonly DaySpan[],
): void {
  const width = months.length
  const days = at(months, width - 1).to
  const swapDay = Math.round(swapInDays)
  const spent = (ageDays / lifeDays) ** shape
  const aliveOn = (day: number) => (dead ? 1 : Math.exp(spent - ((ageDays + day) / lifeDays) ** shape))
  const chances = new Float64Array(width)
  /** When the next cell goes in: in the middle of the month in which this one dies, or on the day of its swap. */
  const putIn: { day: number; share: number }[] = []
  let alive = 1
  months.forEach(({ from, to }, month) => {
    if (from > swapDay) return
    const end = Math.min(to, swapDay)
    const left = aliveOn(end)
    chances[month] = alive - left
    if (alive - left > leastShare) putIn.push({ day: Math.floor((from + end) / 2), share: alive - left })
    alive = left
    if (swapDay >= to) return
    chances[month] = at(chances, month) + left
    if (left > leastShare) putIn.push({ day: swapDay, share: left })
  })
  takeUp(row, chances)
  for (const turn of inTurn.turns) {
    const later = new Float64Array(width)
    let sum = 0
    for (const { day, share } of putIn) {
      if (day >= days) continue
      for (let month = 0; month < width; month += 1) {
        const chance = share * (turn[day * width + month] as number)
        later[month] = (later[month] as number) + chance
        sum += chance
      }
    }
    if (sum < leastShare) return
    takeUp(row, later)
  }
}

/**
 * How many cells of each type each yard takes in each month.
 *
 * Each sensor's cell is replaced on the day it is planned for, or when it dies before; the one put in then lives by the
 * law of a fresh one and may be replaced in its turn. Each replacement is one chance of a Poisson-binomial count. The
 * laws are uncertain, and that they are longer or shorter is common to all cells: the counts are mixed over the laws
 * that may be true (`lawNodes`), the same point for all, which makes the ranges as wide as that. A cell that dies is
 * replaced in the middle of its month, as far as the one after it is concerned.
 *
 * months: in order, without gaps, the first from 0. Rows by yard (without one last), then type.
 */
export function cellDemand(cells: readonly CellInUse[], months: readonly DaySpan[]): CellDemand[] {
  const nodes = new Map<StratumLaw, LawNode[]>()
  const turns = new Map<StratumLaw, Map<number, InTurn[]>>()
  const nodesOf = (law: StratumLaw): LawNode[] => {
    const known = nodes.get(law) ?? lawNodes(law)
    nodes.set(law, known)
    return known
  }
  const turnsOf = ({ law, swapAgeDays }: CellInUse): InTurn[] => {
    const byAge = turns.get(law) ?? new Map<number, InTurn[]>()
    turns.set(law, byAge)
    const known = byAge.get(swapAgeDays) ?? nodesOf(law).map((node) => new InTurn(node, swapAgeDays, months))
    byAge.set(swapAgeDays, known)
    return known
  }
  const rows = Map.groupBy(cells, ({ yardId, cell }) => `${yardId ?? ''} ${cell ?? ''}`)
  const demands = Array.from(rows.values(), (own): CellDemand => {
    const { yardId, cell, law } = at(own, 0)
    const suppositions = nodesOf(law).map(({ weight }, i) => {
      const row: RowChances = { months: months.map(() => []), through: months.map(() => []) }
      for (const each of own) takeSensor(row, each, at(nodesOf(each.law), i), at(turnsOf(each), i), months)
      return { weight, row }
    })
    const rangeOf = (chancesOf: (row: RowChances) => readonly number[]): CountRange =>
      countRange(suppositions.map(({ weight, row }): Chances => ({ weight, each: chancesOf(row) })))
    return {
      yardId,
      cell,
      cells: own.length,
      months: months.map((_, month) => rangeOf((row) => at(row.months, month))),
      through: months.map((_, month) => rangeOf((row) => at(row.through, month))),
    }
  })
  const last = Number.POSITIVE_INFINITY
  return demands.sort(
    (p, q) => (p.yardId ?? last) - (q.yardId ?? last) || (p.cell ?? '\uffff').localeCompare(q.cell ?? '\uffff'),
  )
}
