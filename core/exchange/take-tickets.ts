import {
  type Complaints,
  complaints,
  count,
  findPlace,
  type ImportJob,
  type TakerOf,
} from '#core/exchange/import-job.ts'
import { faulty } from '#core/exchange/places.ts'
import type { FolderRow } from '#core/exchange/folder-files.ts'
import type { Kept } from '#core/store/kept-table.ts'

/** The name of a ticket in the set of faulty ones. */
const ticketKey = (scale: string, ticket: string) => `${scale}\n${ticket}`

/**
 * Finds the ticket that a row names; undefined when it is not there, which is told, or is named by a faulty row, which
 * was told.
 */
export function findTicket(
  job: ImportJob,
  say: Complaints,
  scale: string,
  ticket: string,
  line: number,
): number | undefined {
  const scaleId = job.places.scales.get(scale)
  if (scaleId === undefined) {
    say.unknown(line, 'scale', scale, 'scale', 'scales.csv')
    return undefined
  }
  if (scaleId === faulty) return undefined
  const id = job.ledger.tickets.find([scaleId, ticket])
  if (id === undefined && !job.faultyTickets.has(ticketKey(scale, ticket)))
    say.unknown(line, 'ticket', ticket, `ticket of ${scale} with the number`, 'tickets.csv')
  return id
}

export const takeTickets: TakerOf<'tickets'> = (job, counts) => {
  const say = complaints(job, 'tickets')
  const spoil = (scale: string, ticket: string) => {
    job.faultyTickets.add(ticketKey(scale, ticket))
    job.incompleteEvidence = true
  }
  /** The row before and its ticket: a ticket's rows mostly follow each other and say the same of it. */
  let latest: { row: FolderRow<'tickets'>; id: number } | undefined
  const keepTicket = (row: FolderRow<'tickets'>, scaleId: number, line: number): Kept => {
    if (
      latest?.row.ticket === row.ticket &&
      latest.row.scale === row.scale &&
      latest.row.weighed_at === row.weighed_at &&
      latest.row.gross_lb === row.gross_lb
    ) {
      return { outcome: 'same', id: latest.id }
    }
    const kept = job.ledger.tickets.keep([scaleId, row.ticket], [row.weighed_at, row.gross_lb], line)
    latest = kept.outcome === 'incomplete' || kept.outcome === 'contradicts' ? undefined : { row, id: kept.id }
    return kept
  }
  return {
    take: (row, line, lastRound) => {
      let sound = true
      const scaleId = job.places.scales.get(row.scale)
      if (scaleId === undefined) say.unknown(line, 'scale', row.scale, 'scale', 'scales.csv')
      if (row.group !== null && row.weight_lb === null) {
        const accepted = 'the weight of the group, or no group for a ticket that only names the unit'
        say.say(line, 'weight_lb', '', accepted, `the group has no weight; ${accepted}, is accepted.`)
        sound = false
      }
      if (row.group === null && row.weight_lb !== null) {
        const accepted = 'the group that was weighed'
        say.say(line, 'group', '', accepted, `the weight has no group; ${accepted} is needed.`)
        sound = false
      }
      const place = findPlace(job, say, row, line)
      if (!sound || scaleId === undefined || scaleId === faulty || !place) {
        spoil(row.scale, row.ticket)
        return undefined
      }
      const ticket = keepTicket(row, scaleId, line)
      if (ticket.outcome === 'incomplete') {
        if (!lastRound) return 'later'
        say.missing(line, 'weighed_at')
        spoil(row.scale, row.ticket)
        return undefined
      }
      const weight = job.ledger.ticketWeights.keep(
        [ticket.id, place.unit.id, place.group?.id ?? null],
        [row.weight_lb],
        line,
      )
      if (ticket.outcome === 'contradicts') say.contradicts(line, row, ticket.differences)
      if (weight.outcome === 'contradicts') say.contradicts(line, row, weight.differences)
      if (ticket.outcome !== 'contradicts' && weight.outcome !== 'contradicts') count(counts, ticket, weight)
      return undefined
    },
    spoil: (row) => spoil(row.scale, row.ticket),
  }
}
