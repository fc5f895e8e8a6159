import type { PlanNow } from '#core/jobs/bench-now.ts'
import { cellCosts } from '#core/cells/cell-costs.ts'
import { type CellInUse, cellDemand } from '#core/cells/cell-demand.ts'
import { type StratumLaw, cellTypeOf } from '#core/cells/life-model.ts'
import type { BenchOrderView } from '#core/contracts/bench.ts'
import type { CellStock } from '#core/store/cell-stock.ts'
import {
  type LocalDay,
  type LocalMonth,
  addMonths,
  dayNumber,
  dayOf,
  dayOfNumber,
  daysOfMonth,
  monthOf,
} from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { at } from '#core/words/lists.ts'

/** The rest of this month, and two quarters. */
const monthsAhead = 6

/** The months to order for, from the one of today. */
const monthsFrom = (today: LocalDay): LocalMonth[] =>
  Array.from({ length: monthsAhead + 1 }, (_, n) => addMonths(monthOf(today), n))

/** The cells of units in service, each with the day on which the plan swaps it, or on which it is due later. */
function cellsInUse({ cells, plan, rules }: PlanNow): CellInUse[] {
  const visits = new Map(
    plan.visits.flatMap(({ items, day, yardId }) => items.map(({ id }) => [id, { day, yardId }] as const)),
  )
  const risk = rules.batteryRiskPercent / 100
  return cells.mounted.flatMap(({ seat, outlook }) => {
    if (seat.retired) return []
    const visit = visits.get(`cell ${outlook.serial} ${dayOf(outlook.installedAt, rules.zone)}`)
    const day = visit?.day ?? dayNumber(dayOf(outlook.dueAt, rules.zone))
    const law = cells.model.lawFor(outlook) as StratumLaw
    return {
      yardId: visit ? visit.yardId : seat.yardId,
      cell: cellTypeOf(outlook.cell),
      law,
      ageDays: outlook.ageDays,
      dead: outlook.deadSince !== null,
      swapInDays: Math.max(0, day - plan.firstDay),
      swapAgeDays: cells.outlookOf(law).freshAgeAtRisk(risk),
    }
  })
}

interface Kept {
  readonly stock: readonly CellStock[]
  readonly prices: ReadonlyMap<string, number>
  readonly yards: ReadonlyMap<number, string>
}

/** The cells to order, by yard and type, and what they cost. */
export function viewOrder(
  now: PlanNow,
  { stock, prices, yards }: Kept,
  asOf: number,
  asked: LocalMonth | undefined,
): BenchOrderView {
  const { plan, rules } = now
  const months = monthsFrom(dayOfNumber(plan.firstDay))
  const spans = months.map((month, i) => ({
    from: i === 0 ? 0 : dayNumber(daysOfMonth(month).from) - plan.firstDay,
    to: dayNumber(daysOfMonth(month).to) + 1 - plan.firstDay,
  }))
  const chosen = asked === undefined ? -1 : months.indexOf(asked)
  const last = chosen < 0 ? months.length - 1 : chosen
  const costs = cellCosts(prices, rules)
  const demands = cellDemand(cellsInUse(now), spans)
  const keyOf = (row: { yardId: number | null; cell: string | null }) => JSON.stringify([row.yardId, row.cell])
  const onHand = new Map(stock.map((each) => [keyOf(each), each.onHand]))
  const none = { expected: 0, low: 0, high: 0 }
  const inUse = new Set(demands.map(keyOf))
  const idle = stock
    .filter((each) => !inUse.has(keyOf(each)))
    .map(({ yardId, cell }) => ({
      yardId,
      cell,
      cells: 0,
      months: months.map(() => none),
      through: months.map(() => none),
    }))
  const rows = [...demands, ...idle].map(({ yardId, cell, cells, months: each, through }) => {
    const need = at(through, last)
    const stored = onHand.get(keyOf({ yardId, cell })) ?? null
    const toOrder = Math.max(0, need.high - (stored ?? 0))
    return {
      yard: yardId === null ? null : (yards.get(yardId) ?? null),
      cell,
      cells,
      months: [...each],
      need,
      onHand: stored,
      toOrder,
      dollars: toOrder * costs.priceOf(cell),
    }
  })
  const byType = Map.groupBy(rows, ({ cell }) => cell)
  return {
    asOf: toStoredInstant(asOf),
    months,
    through: at(months, last),
    rows,
    prices: Array.from(byType, ([cell, own]) => ({
      cell,
      typed: prices.get(cell ?? '') ?? null,
      dollars: costs.priceOf(cell),
      toOrder: own.reduce((sum, { toOrder }) => sum + toOrder, 0),
      total: own.reduce((sum, { dollars }) => sum + dollars, 0),
    })),
    dollars: rows.reduce((sum, { dollars }) => sum + dollars, 0),
    yards: [...yards.values()].sort(),
  }
}
