import type { RowProblemView } from '#core/contracts/import.ts'
import { count, counted } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import './problem-table.css'

interface Refusal {
  readonly problems: readonly RowProblemView[]
  /** Whether there are more than these. */
  readonly more: boolean
}

/** That a source has problems, as the beginning of a sentence. */
export const refusalWords = (source: string, { problems, more }: Refusal): string =>
  `${source} has ${more ? 'more than ' : ''}${counted(problems.length, 'problem')}, so nothing of it was stored`

interface ProblemTableProps extends Refusal {
  readonly label: string
  /** Whether they are of several files, each told by its name. */
  readonly files?: boolean
}

/** What an import was refused for, row by row. */
export const ProblemTable = ({ label, problems, more, files = false }: ProblemTableProps) => (
  <>
    <SheetTable
      frame="problem-table"
      caption={label}
      rows={problems}
      keyOf={({ file, line, column, message }) => `${file} ${line} ${column} ${message}`}
      columns={[
        files && ['File', ({ file }) => file],
        ['Line', ({ line }) => line !== null && count(line), 'figure'],
        ['Column', ({ column }) => column],
        ['Value', ({ value }) => <div className="problem-value">{value}</div>],
        ['Accepted', ({ accepted }) => accepted],
        ['What is wrong', ({ message }) => message],
      ]}
    />
    {more && <p className="quiet">There are more problems; these are the first {count(problems.length)}.</p>}
  </>
)
