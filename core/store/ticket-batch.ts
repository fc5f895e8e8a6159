import type Database from 'better-sqlite3'
import type { Kept, KeptTable, Stored } from '#core/store/kept-table.ts'
import { addManyRows, manyKept, rowsPerStatement } from '#core/store/many-rows.ts'

/** Tickets and the weights on them on the way into the store, as flat lists like those of readings. */
export interface TicketBatch {
  /** scale_id, number, weighed_at, gross_lb, driver, lane of one ticket after another. */
  readonly tickets: Stored[]
  /** Line of each ticket's first row. */
  readonly ticketLines: number[]
  /** Ticket's place in the batch, ids of unit and group, weight_lb of one row after another. */
  readonly weights: number[]
  readonly weightLines: number[]
}

export const ticketWidth = 6
export const weightWidth = 4

export const emptyTickets = (): TicketBatch => ({ tickets: [], ticketLines: [], weights: [], weightLines: [] })

/** What became of a row: of its ticket and of its weight; `row` is its place in the batch. */
export interface RowFate {
  readonly row: number
  readonly ticket: Kept
  readonly weight: Kept
}

const same = (id: number): Kept => ({ outcome: 'same', id })

/**
 * Keeps tickets and weights batch by batch: where all of a batch is new by statements of many rows, each row by itself
 * where some of it is stored already. Answers how many rows went in at once, and the fate of each other row in their
 * order.
 */
export function ticketBatches(raw: Database.Database, tickets: KeptTable<string>, weights: KeptTable<string>) {
  const keepTickets = manyKept(raw, tickets, { into: 'ticket', key: ['scale_id', 'number'] })
  const addWeights = addManyRows(
    raw,
    'insert into ticket_weight (ticket_id, unit_id, group_id, weight_lb)',
    weightWidth,
  )
  /** Whether the last batch had rows that are stored already: then the next one mostly has too. */
  let seldomNew = false

  return {
    keep(batch: TicketBatch): { readonly added: number; readonly fates: readonly RowFate[] } {
      const { tickets: values, ticketLines, weights: rows, weightLines } = batch
      const { ids, fates } = keepTickets(values, ticketLines)
      const result: RowFate[] = []
      let added = 0
      /** A row of a ticket that contradicts what is stored says so again. */
      const ticketOf = (place: number, line: number): Kept => {
        const id = ids[place] ?? 0
        const fate = fates.get(ticketLines[place] ?? 0)
        if (fate === undefined || (fate === 'completed' && ticketLines[place] !== line)) return same(id)
        return fate === 'completed' ? { outcome: fate, id } : { outcome: 'contradicts', id, differences: fate }
      }
      let anyKnown = false
      for (let at = 0; at < weightLines.length; at += rowsPerStatement) {
        const end = Math.min(at + rowsPerStatement, weightLines.length)
        const some = rows.slice(at * weightWidth, end * weightWidth)
        const places: number[] = []
        for (let first = 0; first < some.length; first += weightWidth) {
          const place = some[first] ?? 0
          places.push(place)
          some[first] = ids[place] ?? 0
        }
        const last = seldomNew || fates.size > 0 || places.length < rowsPerStatement ? undefined : addWeights(some)
        if (last !== undefined) added += places.length
        for (const [index, place] of places.entries()) {
          const line = weightLines[at + index] ?? 0
          if (last !== undefined) {
            weights.noteLine(last - (places.length - 1 - index), line)
            continue
          }
          const [ticketId = 0, unitId = 0, groupId = 0, weight = 0] = some.slice(index * weightWidth)
          const kept = weights.keep([ticketId, unitId, groupId], [weight], line)
          if (kept.outcome !== 'added') anyKnown = true
          result.push({ row: at + index, ticket: ticketOf(place, line), weight: kept })
        }
      }
      seldomNew = anyKnown
      return { added, fates: result }
    },
  }
}
