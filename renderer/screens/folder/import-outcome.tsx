import { Button, CopyButton } from '@mantine/core'
import type { ImportOutcome, RowProblemView } from '#core/contracts/import.ts'
import { asText } from '#core/words/text.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, decimal } from '#renderer/parts/format.ts'
import { Notice } from '#renderer/parts/problem-notice.tsx'
import { ProblemTable, refusalWords } from '#renderer/parts/problem-table.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'

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

type Stored = Extract<ImportOutcome, { outcome: 'stored' }>
type Refused = Extract<ImportOutcome, { outcome: 'refused' }>

function StoredReport({ source, outcome: { files, seconds, notes } }: { source: string; outcome: Stored }) {
  const total = (key: 'added' | 'completed') => files.reduce((sum, file) => sum + file[key], 0)
  const [added, completed] = [total('added'), total('completed')]
  const isNew = added + completed > 0
  return (
    <>
      <Notice
        kind="done"
        title={isNew ? phrase('Imported') : phrase('Nothing new')}
        arrives
        ways={
          <Button variant="filled" component="a" href={hrefOf('roster')}>
            {phrase('Open the Roster')}
          </Button>
        }
      >
        <p>
          {isNew
            ? phrase('{added} rows added and {completed} completed from {source} in {seconds} s.', {
                added: count(added),
                completed: count(completed),
                source,
                seconds: decimal(seconds),
              })
            : phrase('Every row of {source} was already in the file: nothing has changed.', { source })}
        </p>
      </Notice>
      <SheetTable
        caption={phrase('Rows of each file')}
        rows={files}
        keyOf={({ file }) => file}
        columns={[
          [phrase('File'), ({ file }) => file],
          [phrase('Rows read'), ({ read }) => count(read), 'figure'],
          [phrase('Added'), (file) => count(file.added), 'figure'],
          [phrase('Completed'), (file) => count(file.completed), 'figure'],
          [phrase('Already there'), ({ same }) => count(same), 'figure'],
        ]}
      />
      {notes.length > 0 && (
        <Section title={phrase('Notes')} level={3}>
          <ul className="folder-notes">
            {notes.map((note) => (
              <li key={note}>{note}</li>
            ))}
          </ul>
        </Section>
      )}
    </>
  )
}

function RefusedReport({ source, outcome }: { source: string; outcome: Refused }) {
  const { problems, more } = outcome
  return (
    <>
      <Notice
        kind="problem"
        title={phrase('Not imported')}
        arrives
        ways={
          <>
            <CopyButton value={problems.map(({ message }) => message).join('\n')}>
              {({ copied, copy }) => (
                <Button onClick={copy}>{copied ? phrase('Copied') : phrase('Copy as text')}</Button>
              )}
            </CopyButton>
            <Button
              onClick={() => saveFile(new File([problemsAsCsv(problems)], 'import-problems.csv', { type: 'text/csv' }))}
            >
              {phrase('Save as CSV')}
            </Button>
          </>
        }
      >
        <p>
          {phrase('{source}. Fix the {problems, plural, one {row} other {rows}} below and import the folder again.', {
            source: refusalWords(source, outcome),
            problems: problems.length,
          })}
        </p>
      </Notice>
      <ProblemTable label={phrase('Problems, row by row')} problems={problems} more={more} files />
    </>
  )
}

/** What came of an import, file by file, or row by row where it was refused. */
export const ImportReport = ({ source, outcome }: { source: string; outcome: ImportOutcome }) => (
  <div className="stack folder-result">
    {outcome.outcome === 'stored' ? (
      <StoredReport source={source} outcome={outcome} />
    ) : (
      <RefusedReport source={source} outcome={outcome} />
    )}
  </div>
)
