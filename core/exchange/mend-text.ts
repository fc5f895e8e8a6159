import { csvCell } from '#core/exchange/csv-text.ts'
import { delimiters, type ForeignMapping, mendColumn } from '#core/fleet/foreign-mapping.ts'
import { mendCell } from '#core/fleet/mend-cells.ts'

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
    const line = `${[first, ...(old < 0 ? cells : cells.toSpliced(old, 1))].map((cell) => csvCell(mendCell(cell), sign)).join(sign)}\r\n`
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
