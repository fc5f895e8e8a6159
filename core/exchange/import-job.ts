import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import type { CellType } from '#core/exchange/column.ts'
import {
  type FolderFileName,
  type FolderRow,
  allFolderFiles,
  columnsOf,
  folderFiles,
} from '#core/exchange/folder-files.ts'
import { type GroupPlace, type Places, type UnitPlace, faulty } from '#core/exchange/places.ts'
import type { LineCells } from '#core/exchange/line-cells.ts'
import type { ProblemList, RowReader } from '#core/exchange/row-reader.ts'
import type { FolderLedger } from '#core/store/folder-ledger.ts'
import type { Difference, Kept, Stored } from '#core/store/kept-table.ts'

export interface RowCounts {
  read: number
  added: number
  completed: number
  same: number
}

export const noRows = (): RowCounts => ({ read: 0, added: 0, completed: 0, same: 0 })

export interface PendingAttachment {
  readonly ticketId: number
  readonly row: FolderRow<'attachments'>
  readonly line: number
}

/** Everything that the takers of the files share during one import. */
export interface ImportJob {
  readonly ledger: FolderLedger
  readonly places: Places
  readonly problems: ProblemList
  readonly note: (text: string) => void
  /** The line that a sentence names for a record. */
  readonly lineOf: (line: number) => number
  /** Tickets and readings that a faulty row names, so that what refers to them is not faulty too. */
  readonly faultyTickets: Set<string>
  readonly faultyReadings: Set<string>
  /** Attachments whose row is sound: their files are read once all rows have been. */
  readonly attachments: PendingAttachment[]
  /** Whether some rows of tickets or readings could not be kept, so that points cannot be held against them. */
  incompleteEvidence: boolean
}

/** Takes the rows of one file. */
export interface RowTaker<F extends FolderFileName> {
  /** Keeps a row; `later` when it may become complete by a following row of its record (never in the last round). */
  take(row: FolderRow<F>, line: number, lastRound: boolean): 'later' | undefined
  /** Notes what a faulty row names. */
  spoil?(row: FolderRow<F>): void
  /**
   * Takes a record of as many cells as the header by itself where that is quicker; false leaves it to the reader and
   * `take`. The cells are those of the next record afterwards.
   */
  quick?(cells: LineCells, line: number, reader: RowReader<F>): boolean
  end?(): void
}

export type TakerOf<F extends FolderFileName> = (job: ImportJob, counts: RowCounts) => RowTaker<F>

const show = (value: Stored) => (typeof value === 'string' ? JSON.stringify(value) : String(value))

/** What can be said against a row, each told in one way; the column is that of the file. */
export interface Complaints {
  say(line: number, column: string, value: Stored, accepted: string, message: string): void
  /** A name that stands neither in the file that lists such things nor in the store. */
  unknown(line: number, column: string, value: Stored, what: string, listedIn: string): void
  /** A cell left empty that a new record needs. */
  missing(line: number, column: string): void
  /**
   * A row that says other than what is recorded. `columnOf` names the file's column where the store has another name;
   * `shown` says a stored value in the folder's words where the store has a number for it.
   */
  contradicts(
    line: number,
    row: Readonly<Record<string, Stored>>,
    differences: readonly Difference[],
    columnOf?: Readonly<Record<string, string>>,
    shown?: (difference: Difference) => string | undefined,
  ): void
}

export function complaints({ problems, lineOf }: ImportJob, name: FolderFileName): Complaints {
  const { file } = allFolderFiles[name]
  const types = new Map<string, CellType>(columnsOf(name).map(([column, { type }]) => [column, type]))
  const write = (column: string, value: Stored) =>
    value === null || value === '' ? '' : problems.textOf(column, types.get(column)?.write(value) ?? String(value))
  return {
    say: (line, column, value, accepted, message) =>
      problems.add(file, line, column, write(column, value), accepted, message),
    unknown: (line, column, value, what, listedIn) =>
      problems.add(
        file,
        line,
        column,
        String(value),
        problems.namesFiles
          ? phrase('a {what} of {listedIn} or of the store', { what, listedIn })
          : phrase('a {what} that is stored', { what }),
        problems.namesFiles
          ? phrase('there is no {what} {value}, neither in {listedIn} nor stored.', {
              what,
              value: show(value),
              listedIn,
            })
          : phrase('there is no {what} {value} stored.', { what, value: show(value) }),
      ),
    missing: (line, column) => {
      const accepted = types.get(column)?.accepted ?? phrase('a value')
      problems.add(
        file,
        line,
        column,
        '',
        accepted,
        phrase('the cell is empty and nothing is stored yet; {accepted} is needed.', { accepted }),
      )
    },
    contradicts: (line, row, differences, columnOf = {}, shown = () => undefined) => {
      for (const difference of differences) {
        const column = columnOf[difference.column] ?? difference.column
        const given = write(column, row[column] ?? null)
        const known = shown(difference) ?? write(column, difference.stored)
        const source =
          difference.line === null
            ? phrase('is recorded already')
            : phrase('is said in line {line}', { line: lineOf(difference.line) })
        problems.add(
          file,
          line,
          column,
          given,
          phrase('{known}, which {source}, or an empty cell', { known, source }),
          phrase('{given} contradicts {known}, which {source}.', { given: show(given), known: show(known), source }),
        )
      }
    },
  }
}

/** Adds a row to the counts by what became of it. */
export function count(counts: RowCounts, ...kept: Kept[]): void {
  if (kept.some(({ outcome }) => outcome === 'added')) counts.added += 1
  else if (kept.some(({ outcome }) => outcome === 'completed')) counts.completed += 1
  else counts.same += 1
}

interface PlaceRow {
  readonly unit: string
  readonly group?: string | null
  readonly circuit?: string | null
}

interface FoundPlace {
  readonly unit: UnitPlace
  readonly group: GroupPlace | undefined
  readonly circuitId: number | undefined
}

/**
 * Finds the unit, group and circuit that a row names, as far as it names them. Undefined when one is not there, which
 * is told, or is named by a faulty row, which was told.
 */
export function findPlace({ places }: ImportJob, say: Complaints, row: PlaceRow, line: number): FoundPlace | undefined {
  const unit = places.units.get(row.unit)
  if (!unit) {
    say.unknown(line, 'unit', row.unit, word('unit'), folderFiles.units.file)
    return undefined
  }
  if (unit.id === faulty) return undefined
  if (row.group === undefined || row.group === null) return { unit, group: undefined, circuitId: undefined }
  const group = unit.groups.get(row.group)
  if (!group) {
    say.unknown(
      line,
      'group',
      row.group,
      phrase('group of unit {unit} named', { unit: row.unit }),
      folderFiles.axleGroups.file,
    )
    return undefined
  }
  if (group.id === faulty) return undefined
  if (row.circuit === undefined || row.circuit === null) return { unit, group, circuitId: undefined }
  const circuitId = group.circuits.get(row.circuit)
  if (circuitId === undefined) {
    say.unknown(
      line,
      'circuit',
      row.circuit,
      phrase('circuit of unit {unit}, group {group} named', { unit: row.unit, group: row.group }),
      folderFiles.circuits.file,
    )
    return undefined
  }
  return circuitId === faulty ? undefined : { unit, group, circuitId }
}
