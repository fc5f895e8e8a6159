import { type FindingCode, findingCodes, type Trust, trustStates } from '#core/findings/finding.ts'
import { type UnitKind, unitKinds } from '#core/fleet/vocabulary.ts'

const sortableColumns = ['unit', 'trust', 'finding', 'age', 'due', 'uncertainty', 'cell', 'yard', 'model'] as const
export type RosterColumn = (typeof sortableColumns)[number]
export interface RosterSort {
  readonly column: RosterColumn
  readonly desc: boolean
}

/** What the Roster is asked to show; all of it lives in the address. */
export interface RosterView {
  readonly text: string
  readonly trust: ReadonlySet<Trust>
  readonly kind: UnitKind | null
  readonly yard: string | null
  readonly finding: FindingCode | null
  readonly retired: boolean
  readonly sort: RosterSort
  /** Number of the selected unit. */
  readonly at: string | null
}

const oneOf = <T extends string>(words: readonly T[], text: string | null): T | null =>
  words.find((word) => word === text) ?? null

/** Worst trust first: what needs someone stands at the top. */
const usualSort: RosterSort = { column: 'trust', desc: false }

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
    sort: column ? { column, desc: params.get('order') === 'desc' } : usualSort,
    at: params.get('at'),
  }
}

export const noFilter = { text: null, trust: null, kind: null, yard: null, finding: null }

export const isFiltered = ({ text, trust, kind, yard, finding }: RosterView): boolean =>
  text.trim() !== '' || trust.size > 0 || kind !== null || yard !== null || finding !== null

/** The address's words for a sort: the usual one needs none. */
export const sortParams = ({ column, desc }: RosterSort): { sort: string | null; order: string | null } =>
  column === usualSort.column && desc === usualSort.desc
    ? { sort: null, order: null }
    : { sort: column, order: desc ? 'desc' : null }
