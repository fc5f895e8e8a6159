import { createHash } from 'node:crypto'
import { TarelineError } from '#core/words/problem.ts'

/** Counts up when a table changes its columns: what another version wrote is not written on. */
export const publishedLayout = 1

/** What a column holds: moments as UTC instants, days as YYYY-MM-DD in the fleet's zone. */
export type PublishedKind = 'text' | 'whole' | 'number' | 'yes or no' | 'moment' | 'day' | 'texts' | 'json'
export type PublishedValue =
  | string
  | number
  | boolean
  | null
  | readonly PublishedValue[]
  | { readonly [name: string]: PublishedValue }

export interface PublishedColumn<Row> {
  readonly name: string
  readonly kind: PublishedKind
  /** What it means, for the reader of the database. */
  readonly about: string
  readonly of: (row: Row) => PublishedValue
}

/** Rows by the names of their columns. */
export type PublishedRow = Readonly<Record<string, PublishedValue>>

/** Some rows of a table that are replaced together; a part has the same number whenever it is published. */
export interface PublishedPart {
  readonly part: number
  readonly rows: readonly PublishedRow[]
}

/** A table as the readers of a reporting copy have it; each row is of one fleet. */
export interface PublishedTable {
  readonly name: string
  readonly about: string
  readonly columns: readonly Omit<PublishedColumn<never>, 'of'>[]
  /** Columns that tell its rows apart within a fleet; none where rows have no such names. */
  readonly key: readonly string[]
  /** Its rows, each part once, by rising numbers. */
  readonly parts: () => AsyncIterable<PublishedPart>
}

/** The fleet that a reporting copy is of. */
export interface PublishedFleet {
  readonly key: string
  /** As the person calls it; undefined: as it was called before, or else as its file. */
  readonly name: string | undefined
  readonly file: string
  readonly zone: string
  readonly revision: number
  /** The moment that judgements are of, stored instant. */
  readonly judgedFor: string
  /** Now, stored instant. */
  readonly at: string
  /** Differs whenever anything that is published may. */
  readonly mark: string
}

/** What became of a table. */
export interface PublishedCount {
  readonly table: string
  readonly rows: number
  /** Of them those that were written; the others stood there already. */
  readonly written: number
}

export interface Publishing {
  readonly fleet: string
  /** null: nothing had changed since the last time, so nothing was looked at. */
  readonly tables: readonly PublishedCount[] | null
}

export interface PublishOptions {
  /** Writes everything, whatever stands there. */
  readonly anew: boolean
  readonly signal: AbortSignal
  readonly onTable: (table: string, rows: number) => void
}

/** Text as every database takes it: without the NUL sign and halves of signs. */
function plain(value: PublishedValue): PublishedValue {
  if (typeof value === 'string') return value.toWellFormed().replaceAll('\0', '\uFFFD')
  if (typeof value !== 'object' || value === null) return value
  if (isList(value)) return value.map(plain)
  return Object.fromEntries(Object.entries(value).map(([name, own]) => [name, plain(own)]))
}
const isList = (value: PublishedValue): value is readonly PublishedValue[] => Array.isArray(value)

/** Defines a table by its columns and the rows that they are read from. */
export function publishedTable<Row>(
  name: string,
  about: string,
  {
    columns,
    key = [],
    parts,
  }: {
    readonly columns: readonly PublishedColumn<Row>[]
    readonly key?: readonly string[]
    /** Numbers of parts with their rows. */
    readonly parts: () => AsyncIterable<readonly [part: number, rows: readonly Row[]]>
  },
): PublishedTable {
  return {
    name,
    about,
    columns: columns.map(({ name: column, kind, about: meaning }) => ({ name: column, kind, about: meaning })),
    key,
    parts: async function* () {
      for await (const [part, rows] of parts())
        yield {
          part,
          rows: rows.map((row) => Object.fromEntries(columns.map((column) => [column.name, plain(column.of(row))]))),
        }
    },
  }
}

/** Tells whether two parts are the same. */
export const digestOf = (text: string): string => createHash('sha256').update(text).digest('base64url')

/** Rows as a JSON list, in one order, whatever the order in which the same rows were stored. */
export const sortedRows = (rows: readonly PublishedRow[]): string =>
  `[${rows
    .map((row) => JSON.stringify(row))
    .sort()
    .join(',')}]`

export const namesake = (name: string): TarelineError =>
  new TarelineError(
    'name-taken',
    `Another fleet is published there as "${name}". Give this one another name with --fleet.`,
  )
