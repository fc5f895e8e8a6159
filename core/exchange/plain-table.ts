import { phrase } from '#core/words/phrase.ts'
import { NotUtf8, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'
import { ListFull, type ProblemList, problemList, quote } from '#core/exchange/row-reader.ts'

/** Says what is wrong with a cell of the row at hand; without a message, that it is not accepted. */
export type RefuseCell<Column> = (column: Column, accepted: string, message?: string) => void

interface PlainTable<Column extends string> {
  /** How people know the file. */
  readonly name: string
  readonly columns: readonly Column[]
  /** The one that a file may leave out. */
  readonly optional?: Column
  /** Takes a row by its columns; cells without blanks around them, '' for a column that is not there. */
  readonly take: (row: Readonly<Record<Column, string>>, refuse: RefuseCell<Column>) => void
}

/**
 * Reads a CSV text or file that stands for itself, its rows under a header with these columns in any order, and tells
 * what is wrong with it. Errors: the file system's.
 */
export async function readPlainTable<Column extends string>(
  source: { readonly text: string } | { readonly path: string },
  { name, columns, optional, take }: PlainTable<Column>,
): Promise<ProblemList> {
  const problems = problemList()
  const header = phrase('a header with {columns}', { columns: columns.join(', ') })
  let titles: string[] | undefined
  let usable = false
  const scanner = csvScanner({
    fault: ({ line, value, accepted }) =>
      problems.add(
        name,
        line,
        null,
        value,
        accepted,
        phrase('the row cannot be read; {accepted} is needed.', { accepted }),
      ),
    record: (cells, line) => {
      if (!titles) {
        titles = cells.map((cell) => cell.replace('\uFEFF', '').trim().toLowerCase())
        const missing = columns.filter((column) => column !== optional && !titles?.includes(column))
        for (const column of missing)
          problems.add(
            name,
            line,
            column,
            cells.join(','),
            header,
            phrase('the column is missing; {header} is needed.', { header }),
          )
        usable = missing.length === 0
        return
      }
      if (!usable || cells.every((cell) => cell.trim() === '')) return
      if (cells.length !== titles.length) {
        const accepted = phrase('{count}, as in the header', { count: titles.length })
        const found = phrase('{count, plural, one {# cell} other {# cells}}', { count: cells.length })
        problems.add(
          name,
          line,
          null,
          found,
          accepted,
          phrase('the row has {found}; {accepted}, are needed.', { found, accepted }),
        )
        return
      }
      const row = Object.fromEntries(
        columns.map((column) => [column, (cells[titles?.indexOf(column) ?? -1] ?? '').trim()]),
      ) as Record<Column, string>
      take(
        row,
        (
          column,
          accepted,
          message = phrase('{text} is not accepted; {accepted} is.', { text: quote(row[column]), accepted }),
        ) => problems.add(name, line, column, row[column], accepted, message),
      )
    },
  })
  try {
    if ('text' in source) scanner.take(source.text)
    else for await (const { text } of readUtf8(source.path)) scanner.take(text)
    scanner.end()
    if (!titles) problems.add(name, 1, null, '', header, phrase('the file is empty; {header} is needed.', { header }))
  } catch (error) {
    if (error instanceof NotUtf8) addNotUtf8(problems, name, error)
    else if (!(error instanceof ListFull)) throw error
  }
  return problems
}

export const addNotUtf8 = (problems: ProblemList, file: string, { line }: NotUtf8): void =>
  problems.add(
    file,
    line,
    null,
    phrase('bytes that are not UTF-8'),
    phrase('text in UTF-8'),
    phrase('the text is not UTF-8; save the file as CSV in UTF-8.'),
  )
