import { Button, CopyButton } from '@mantine/core'
import type { ImportOutcome, RowProblemView } from '#core/contracts/import.ts'
import { asText } from '#core/words/text.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, decimal } from '#renderer/parts/format.ts'
import { ProblemTable } from '#renderer/parts/problem-table.tsx'

const columns = ['file', 'line', 'column', 'value', 'accepted', 'message'] as const
/**
 * A field of a CSV file (RFC 4180): quoted where it must be, and never a formula, as values come from whoever made the
 * folder.
 */
function field(typed: string): string {
  const text = asText(typed)
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

/** An import's problems as a CSV file, one line each. */
export const problemsAsCsv = (problems: readonly RowProblemView[]): string =>
  [
    columns.join(','),
    ...problems.map((problem) => columns.map((column) => field(String(problem[column] ?? ''))).join(',')),
  ]
    .join('\r\n')
    .concat('\r\n')

/** An import's problems as lines to paste into a message. */
export const problemsAsText = (problems: readonly RowProblemView[]): string =>
  problems.map(({ message }) => message).join('\n')

type Stored = Extract<ImportOutcome, { outcome: 'stored' }>
type Refused = Extract<ImportOutcome, { outcome: 'refused' }>

function StoredReport({ source, outcome }: { source: string; outcome: Stored }) {
  const total = (key: 'read' | 'added' | 'completed' | 'same') =>
    outcome.files.reduce((sum, file) => sum + file[key], 0)
  const changed = total('added') + total('completed')
  return (
    <section className="folder-result" aria-labelledby="result-title">
      <div className="notice" data-kind="done">
        <h2 className="notice-title" id="result-title" tabIndex={-1}>
          {changed === 0 ? 'Nothing new' : 'Brought in'}
        </h2>
        <p>
          {changed === 0
            ? `Every row of ${source} was already in the file: nothing has changed.`
            : `${count(total('added'))} rows added and ${count(total('completed'))} completed from ${source} in ${decimal(outcome.seconds)} s.`}
        </p>
        <div className="notice-actions">
          <Button component="a" href={hrefOf('roster')}>
            Open the Roster
          </Button>
        </div>
      </div>
      <table className="sheet-table">
        <caption className="unheard">Rows of each file</caption>
        <thead>
          <tr>
            <th scope="col">File</th>
            <th scope="col" className="figure">
              Rows read
            </th>
            <th scope="col" className="figure">
              Added
            </th>
            <th scope="col" className="figure">
              Completed
            </th>
            <th scope="col" className="figure">
              Already there
            </th>
          </tr>
        </thead>
        <tbody>
          {outcome.files.map(({ file, read, added, completed, same }) => (
            <tr key={file}>
              <th scope="row">{file}</th>
              <td className="figure">{count(read)}</td>
              <td className="figure">{count(added)}</td>
              <td className="figure">{count(completed)}</td>
              <td className="figure">{count(same)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {outcome.notes.length > 0 && (
        <section aria-labelledby="notes-title">
          <h3 id="notes-title">Notes</h3>
          <ul className="folder-notes">
            {outcome.notes.map((note) => (
              <li key={note}>{note}</li>
            ))}
          </ul>
        </section>
      )}
    </section>
  )
}

function RefusedReport({ source, outcome: { problems, more } }: { source: string; outcome: Refused }) {
  return (
    <section className="folder-result" aria-labelledby="result-title">
      <div className="notice" data-kind="problem">
        <h2 className="notice-title" id="result-title" tabIndex={-1}>
          Not brought in
        </h2>
        <p>
          {source} has {more ? `more than ${count(problems.length)}` : count(problems.length)}{' '}
          {problems.length === 1 ? 'problem' : 'problems'}, so nothing of it was stored. Mend the{' '}
          {problems.length === 1 ? 'row' : 'rows'} below and bring the folder in again.
        </p>
        <div className="notice-actions">
          <CopyButton value={problemsAsText(problems)}>
            {({ copied, copy }) => (
              <Button variant="default" onClick={copy}>
                {copied ? 'Copied' : 'Copy as text'}
              </Button>
            )}
          </CopyButton>
          <Button
            variant="default"
            onClick={() => saveFile(new File([problemsAsCsv(problems)], 'import-problems.csv', { type: 'text/csv' }))}
          >
            Save as CSV
          </Button>
        </div>
      </div>
      <ProblemTable label="Problems, row by row" problems={problems} more={more} files />
    </section>
  )
}

/** What came of an import, file by file, or row by row where it was refused. */
export function ImportReport({ source, outcome }: { source: string; outcome: ImportOutcome }) {
  return outcome.outcome === 'stored' ? (
    <StoredReport source={source} outcome={outcome} />
  ) : (
    <RefusedReport source={source} outcome={outcome} />
  )
}
