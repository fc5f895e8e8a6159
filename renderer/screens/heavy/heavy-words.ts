import type { HeavyEntry, HeavySummary } from '#core/api/heavy-contract.ts'
import type { HeavySource, LimitKind } from '#core/weight/heavy.ts'
import { hrefOf } from '#renderer/parts/address.ts'

export const kindWords: Record<LimitKind, string> = { group: 'Axle groups', gross: 'Gross', bridge: 'Bridge formula' }
export const sourceWords: Record<HeavySource, string> = { ticket: 'ticket', onboard: 'onboard' }

/** What the limit is of, in a few words: `T-101 drive`, `gross`, `axles 2 to 5`. */
export function limitOf({ kind, unit, group, set }: HeavyEntry): string {
  if (set) return `axles ${set.firstAxle} to ${set.lastAxle}`
  return kind === 'gross' ? 'gross' : `${unit} ${group ?? ''}`
}

/** A kind of limit as the counts tell it apart. */
export const limitName = ({ kind, role }: HeavySummary['byLimit'][number]): string =>
  kind === 'group' ? `${role ?? 'other'} axles` : kind === 'gross' ? 'gross' : 'bridge formula'

/** The record that was weighed, the same for every limit that it broke. */
export const recordKey = ({ noteOn, reading, scale, ticket }: HeavyEntry): string =>
  noteOn === 'reading' ? `reading ${reading}` : `ticket ${ticket} of ${scale}`

/** Tells one row of the log from every other, also after the weights were made anew. */
export const entryKey = (entry: HeavyEntry): string =>
  [entry.source, entry.reading, entry.scale, entry.ticket, entry.unit, entry.kind, entry.group].join('|')

/** The log of one unit, yard or limit, with everything else as it is. */
export const logHref = (params: URLSearchParams, change: Record<string, string>): string =>
  hrefOf('heavy', null, { ...Object.fromEntries(params), part: null, ...change })

/** The plural of a count. */
export const plural = (count: number, one: string, more = `${one}s`): string => (count === 1 ? one : more)
