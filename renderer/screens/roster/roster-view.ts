import type { RosterRow } from '#core/contracts/unit.ts'
import { type FindingCode, type Trust, findingCodes, trustStates } from '#core/findings/finding.ts'
import { type UnitKind, unitKinds } from '#core/words/vocabulary.ts'
import { oneOf } from '#renderer/parts/address.ts'
import type { LineSort } from '#renderer/parts/line-grid.tsx'

const sortableColumns = ['unit', 'trust', 'finding', 'age', 'due', 'uncertainty', 'cell', 'yard', 'model'] as const
export type RosterColumn = (typeof sortableColumns)[number]
/** What the Roster is asked to show; all of it lives in the address. */
export interface RosterView {
  readonly text: string
  readonly trust: ReadonlySet<Trust>
  readonly kind: UnitKind | null
  readonly yard: string | null
  readonly finding: FindingCode | null
  readonly retired: boolean
  readonly sort: LineSort
  /** Number of the selected unit. */
  readonly at: string | null
}

/** Worst trust first: what needs someone stands at the top. */
const usualSort: LineSort = { column: 'trust', descending: false }

/** Reads the address; a word that means nothing is left out. */
export function readRosterView(params: URLSearchParams): RosterView {
  const wanted = params.get('trust')?.split(',') ?? []
  const column = oneOf(sortableColumns, params.get('sort'))
  return {
    text: params.get('text') ?? '',
    trust: new Set(trustStates.filter((trust) => wanted.includes(trust))),
    kind: oneOf(unitKinds, params.get('kind')),
    yard: params.get('yard'),
    finding: oneOf(findingCodes, params.get('finding')),
    retired: params.get('retired') === 'yes',
    sort: column ? { column, descending: params.get('order') === 'desc' } : usualSort,
    at: params.get('at'),
  }
}

export const noFilter = { text: null, trust: null, kind: null, yard: null, finding: null }

export const isFiltered = ({ text, trust, kind, yard, finding }: RosterView): boolean =>
  text.trim() !== '' || trust.size > 0 || kind !== null || yard !== null || finding !== null

/** The address's words for a sort: the usual one needs none. */
export const sortParams = ({ column, descending }: LineSort): { sort: string | null; order: string | null } =>
  column === usualSort.column && !descending
    ? { sort: null, order: null }
    : { sort: column, order: descending ? 'desc' : null }

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
