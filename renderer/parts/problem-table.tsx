import type { RowProblemView } from '#core/contracts/import.ts'
import { count } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import './problem-table.css'

interface Refusal {
  readonly problems: readonly RowProblemView[]
  /** Whether there are more than these. */
  readonly more: boolean
}

/** That a source has problems, as the beginning of a sentence. */
export const refusalWords = (source: string, { problems, more }: Refusal): string =>
  phrase('{source} has {more}{problems, plural, one {# problem} other {# problems}}, so nothing of it was stored', {
    source,
    more: more ? phrase('more than ') : '',
    problems: problems.length,
  })

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
        files && [phrase('File'), ({ file }) => file],
        [phrase('Line of the file'), ({ line }) => line !== null && count(line), 'figure'],
        [phrase('Column'), ({ column }) => column],
        [phrase('Value'), ({ value }) => <div className="problem-value">{value}</div>],
        [phrase('Accepted'), ({ accepted }) => accepted],
        [phrase('What is wrong'), ({ message }) => message],
      ]}
    />
    {more && (
      <p className="quiet">
        {phrase('There are more problems; these are the first {problems}.', { problems: count(problems.length) })}
      </p>
    )}
  </>
)
