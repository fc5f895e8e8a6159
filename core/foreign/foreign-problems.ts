import { phrase } from '#core/words/phrase.ts'
import type { RowProblemView } from '#core/contracts/import.ts'
import { type CsvFault, csvCell } from '#core/exchange/csv-records.ts'
import { ListFull, type ProblemList } from '#core/exchange/row-reader.ts'
import type { CellProblem, Origin } from '#core/foreign/foreign-rows.ts'
import { mendCell } from '#core/foreign/mapping/cells.ts'
import { type ForeignMapping, type ForeignQuantity, delimiters, mendColumn } from '#core/foreign/mapping/mapping.ts'
import { type MeasureSet, amountText } from '#core/words/measures.ts'

const shorten = (text: string) => (text.length > 80 ? `${text.slice(0, 79)}…` : text)
/** What the columns of the folder's files measure. */
const measured: Readonly<Record<string, ForeignQuantity>> = {
  weight_lb: 'weight',
  gross_lb: 'weight',
  psi: 'pressure',
  elevation_ft: 'elevation',
  temperature_f: 'temperature',
}
/** What is wrong with a foreign file, told by its own lines and columns. */
export interface ForeignProblems extends ProblemList {
  /**
   * Takes a row of the fleet folder's file down, as it is handed to the import; answers what stands for its line there.
   */
  noteRow(line: number, origin: number): number
  lineOf(row: number): number
  /** Counts a row of the foreign file. */
  countRow(): void
  readonly rows: number
  /** What is wrong with a cell or a row. Errors: ListFull. */
  refuse(line: number, problem: CellProblem): void
  /** What is wrong with the text itself, so that rows cannot be told apart. Errors: ListFull. */
  fault(fault: CsvFault): void
  /** Whether the text itself is at fault, or the header: then no row of it can be trusted. */
  readonly isTextAtFault: boolean
}

/** How a sentence about a row begins: with where it stands. */
const placeOf = (file: string, line: number): string => phrase('{file} line {line}', { file, line })

/** The sentence without the file and the line, which are others in the file to mend. */
export const withoutPlace = (message: string, file: string, line: number): string =>
  message.slice(placeOf(file, line).length + 2)

/** measures: those of the sentences; most: problems that it holds. */
export function foreignProblems(
  file: string,
  origins: () => readonly Origin[],
  measures: MeasureSet,
  most: number,
): ForeignProblems {
  const problems: RowProblemView[] = []
  let more = false
  let isTextAtFault = false
  let rows = 0
  const lines: number[] = []
  const origin: number[] = []
  const lineOf = (row: number) => lines[row - 1] ?? 1
  const refuse = (line: number, { column, value, accepted, message }: CellProblem) => {
    if (problems.length === most) {
      more = true
      throw new ListFull()
    }
    problems.push({
      file,
      line,
      column,
      value: shorten(value),
      accepted,
      message: `${placeOf(file, line)}${column === null ? '' : `, ${column}`}: ${message}`,
    })
  }
  return {
    problems,
    get more() {
      return more
    },
    get isTextAtFault() {
      return isTextAtFault
    },
    lineOf,
    get rows() {
      return rows
    },
    countRow: () => {
      rows += 1
    },
    noteRow: (line, from) => {
      origin.push(from)
      return lines.push(line)
    },
    refuse,
    fault: ({ line, value, accepted }) => {
      isTextAtFault = true
      refuse(line, {
        column: null,
        value,
        accepted,
        message: phrase('the row cannot be read; {accepted} is needed.', { accepted }),
      })
    },
    add: (_, row, column, value, accepted, message) => {
      const foreign = column === null ? null : (origins()[origin[(row ?? 0) - 1] ?? 0]?.[column] ?? null)
      refuse(lineOf(row ?? 0), {
        column: foreign,
        value,
        accepted,
        message,
      })
    },
    namesFiles: false,
    textOf: (column, text) => {
      const quantity = measured[column]
      return quantity === undefined ? text : amountText(Number(text), measures[quantity])
    },
  }
}

/** More would not be mended by hand. */
const mostCharacters = 20_000_000

/** Gathers the rows that were left out as a CSV text that the same mapping reads. */
export interface MendText {
  readonly rows: number
  /** Whether it holds no more. */
  readonly isFull: boolean
  header(cells: readonly string[]): void
  row(cells: readonly string[], wrong: string): void
  text(): string
}

/** What is wrong stands first, since a row may have too many cells. */
export function mendText({ delimiter, skipLines }: Pick<ForeignMapping, 'delimiter' | 'skipLines'>): MendText {
  const sign = delimiters[delimiter]
  const parts: string[] = Array.from({ length: skipLines }, () => 'line left out\r\n')
  let size = 0
  let rows = 0
  /** Where the file that was read has this column already. */
  let old = -1
  const write = (first: string, cells: readonly string[]) => {
    const rest = old < 0 ? cells : cells.toSpliced(old, 1)
    const line = `${[first, ...rest].map((cell) => csvCell(mendCell(cell), sign)).join(sign)}\r\n`
    size += line.length
    parts.push(line)
  }
  return {
    get rows() {
      return rows
    },
    get isFull() {
      return size > mostCharacters
    },
    header: (cells) => {
      old = cells.findIndex((each) => each.trim() === mendColumn)
      write(mendColumn, cells)
    },
    row: (cells, wrong) => {
      rows += 1
      write(wrong, cells)
    },
    text: () => parts.join(''),
  }
}
