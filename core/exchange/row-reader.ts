import { phrase } from '#core/words/phrase.ts'
import type { RowProblemView } from '#core/contracts/import.ts'
import type { Cell } from '#core/exchange/column.ts'
import { type FolderFileName, type FolderRow, allFolderFiles, columnsOf } from '#core/exchange/folder-files.ts'

/** Thrown by a full list: nothing more need be read. */
export class ListFull extends Error {}

const problemLimit = 200

export interface ProblemList {
  readonly problems: readonly RowProblemView[]
  /** Whether more were found than the list holds. */
  readonly more: boolean
  /** Takes down what is wrong with a cell, or with a whole line (column null). Errors: ListFull. */
  add(file: string, line: number | null, column: string | null, value: string, accepted: string, message: string): void
  /** Whether people know the files of the fleet folder, so that sentences may name them. */
  readonly namesFiles: boolean
  /** The text of a cell as its sentences say it. */
  textOf(column: string, text: string): string
}

const shorten = (text: string) => (text.length > 80 ? `${text.slice(0, 79)}…` : text)

export function problemList(): ProblemList {
  const problems: RowProblemView[] = []
  let more = false
  return {
    problems,
    get more() {
      return more
    },
    add(file, line, column, value, accepted, message) {
      if (problems.length === problemLimit) {
        more = true
        throw new ListFull()
      }
      const at = line === null ? file : phrase('{file} line {line}', { file, line })
      const place = column === null ? at : `${at}, ${column}`
      problems.push({ file, line, column, value: shorten(value), accepted, message: `${place}: ${message}` })
    },
    namesFiles: true,
    textOf: (_, text) => text,
  }
}

/** Reads the cells of one file's records by its header. */
export interface RowReader<F extends FolderFileName> {
  /** The cells of a record by column order of the file's description; undefined where the header has no such column. */
  readonly positions: readonly (number | undefined)[]
  /** Cells of a whole record. */
  readonly width: number
  /**
   * The values of a record, or, with `sound` false, those that could be read after every fault of it was taken down;
   * undefined for a record without any content.
   */
  read(cells: readonly string[], line: number): { readonly row: FolderRow<F>; readonly sound: boolean } | undefined
}

/** A text of a file in a sentence. */
export const quote = (text: string): string => JSON.stringify(shorten(text))

/**
 * Makes sense of a header row. Columns that are not known are told to `note` and passed over; a column that is needed
 * and not there, or there twice, is a problem, and the file cannot be read (undefined).
 */
export function rowReader<F extends FolderFileName>(
  name: F,
  header: readonly string[],
  line: number,
  problems: ProblemList,
  note: (text: string) => void,
): RowReader<F> | undefined {
  const { file } = allFolderFiles[name]
  const columns = columnsOf(name)
  const where = new Map<string, number>()
  let usable = true
  header.forEach((cell, position) => {
    const title = cell.trim().toLowerCase()
    if (title === '') return
    if (where.has(title)) {
      problems.add(
        file,
        line,
        title,
        cell,
        phrase('each column once'),
        phrase('the column stands in the header twice; keep one of the two.'),
      )
      usable = false
      return
    }
    where.set(title, position)
    if (!columns.some(([column]) => column === title))
      note(phrase('{file}: the column {cell} is not known and was passed over.', { file, cell: quote(cell) }))
  })
  for (const [column, { need }] of columns) {
    if (need === 'optional' || where.has(column)) continue
    const accepted = phrase('a header with the column {column}', { column })
    problems.add(
      file,
      line,
      column,
      header.join(','),
      accepted,
      phrase('the column is missing; {accepted} is needed.', { accepted }),
    )
    usable = false
  }
  if (!usable) return undefined

  const width = header.length
  const positions = columns.map(([column]) => where.get(column))
  return {
    positions,
    width,
    read: (cells, at) => {
      if (cells[0]?.trim() === '' && cells.every((cell) => cell.trim() === '')) return undefined
      if (cells.length !== width) {
        const accepted = phrase('{count} cells, as in the header', { count: width })
        problems.add(
          file,
          at,
          null,
          phrase('{count, plural, one {# cell} other {# cells}}', { count: cells.length }),
          accepted,
          phrase('the row has {count, plural, one {# cell} other {# cells}}; {accepted}, are needed.', {
            count: cells.length,
            accepted,
          }),
        )
      }
      let sound = cells.length === width
      const row: Record<string, Cell | null> = {}
      columns.forEach(([column, { need, type }], index) => {
        const position = positions[index]
        const text = position === undefined ? '' : (cells[position] ?? '').trim()
        row[column] = null
        if (text === '') {
          if (need !== 'always' || cells.length !== width) return
          problems.add(
            file,
            at,
            column,
            '',
            type.accepted,
            phrase('the cell is empty; {accepted} is needed.', { accepted: type.accepted }),
          )
          sound = false
          return
        }
        const value = type.parse(text)
        if (value === undefined) {
          // In a ragged row the cells may stand under wrong headings: its length is the one thing to put right.
          if (cells.length === width)
            problems.add(
              file,
              at,
              column,
              text,
              type.accepted,
              phrase('{text} is not accepted; {accepted} is.', { text: quote(text), accepted: type.accepted }),
            )
          sound = false
          return
        }
        row[column] = value
      })
      return { row: row as FolderRow<F>, sound }
    },
  }
}
