import type { RosterRow } from '#core/api/contract.ts'
import { type Trust, trustStates } from '#core/findings/finding.ts'
import type { RosterView } from './roster-view.ts'

/** A row with its words in small letters, made once, so that typing stays quick on 10,000 units. */
export interface SearchableRow {
  readonly row: RosterRow
  readonly words: string
}

export const makeSearchable = (rows: readonly RosterRow[]): SearchableRow[] =>
  rows.map((row) => ({
    row,
    words: [row.unit, row.kind, row.make, row.model, row.modelYear, row.yard]
      .filter((fact) => fact !== null)
      .join(' ')
      .toLowerCase(),
  }))

export interface Filtered {
  readonly rows: RosterRow[]
  /** Units a trust state would show, with every other filter as it is. */
  readonly counts: Readonly<Record<Trust, number>>
  readonly notSensed: number
}

/** The rows a view shows: every word typed must occur, and every filter set must hold. */
export function filterRows(rows: readonly SearchableRow[], view: RosterView): Filtered {
  const typed = view.text.toLowerCase().split(/\s+/).filter(Boolean)
  const counts = Object.fromEntries(trustStates.map((trust) => [trust, 0])) as Record<Trust, number>
  const shown: RosterRow[] = []
  let notSensed = 0
  for (const { row, words } of rows) {
    if (row.retired && !view.retired) continue
    if (view.kind !== null && row.kind !== view.kind) continue
    if (view.yard !== null && row.yard !== view.yard) continue
    if (view.finding !== null && !row.findingCodes.includes(view.finding)) continue
    if (!typed.every((word) => words.includes(word))) continue
    if (row.trust === null) notSensed += 1
    else counts[row.trust] += 1
    if (view.trust.size === 0 || (row.trust !== null && view.trust.has(row.trust))) shown.push(row)
  }
  return { rows: shown, counts, notSensed }
}

/** Text whose plain order is the order people expect of unit numbers: T-9 before T-10. */
export const naturalKey = (text: string): string =>
  text.toLowerCase().replace(/\d+/g, (digits) => digits.padStart(12, '0'))
