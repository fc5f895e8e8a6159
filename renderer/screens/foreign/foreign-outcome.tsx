import { Button } from '@mantine/core'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { encodeText } from '#core/foreign/mapping/cells.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count } from '#renderer/parts/format.ts'
import { ProblemTable } from '#renderer/parts/problem-table.tsx'

type Rest = NonNullable<Extract<ForeignOutcome, { outcome: 'stored' }>['rest']>

/** Saves the rows that were left out as a CSV file to mend. */
export const saveRest = (name: string, { text, encoding }: Rest): void =>
  saveFile(new File([encodeText(text, encoding)], `${name.replace(/\.[^.]*$/, '')}-to-mend.csv`, { type: 'text/csv' }))

type Stored = Extract<ForeignOutcome, { outcome: 'stored' }>
type Refused = Extract<ForeignOutcome, { outcome: 'refused' }>

const takeFocus = (title: HTMLElement | null) => title?.focus()
/** The heading of what came of a file takes the focus once it is there, so that it is heard. */
const ResultTitle = ({ children }: { children: string }) => (
  <h2 className="notice-title" tabIndex={-1} ref={takeFocus}>
    {children}
  </h2>
)

/** What was brought in, and what was left out. */
export function StoredReport({
  source,
  outcome: { files, rows, rest },
  onAnother,
}: {
  source: string
  outcome: Stored
  onAnother: () => void
}) {
  const { file = '', added = 0, completed = 0, same = 0 } = files[0] ?? {}
  const [one, value, part] =
    file === 'tickets.csv' ? ['Tickets', 'weight', 'tickets'] : ['Readings', 'pressure', 'readings']
  return (
    <div className="notice" data-kind="done">
      <ResultTitle>{added + completed === 0 ? 'Nothing new' : 'Brought in'}</ResultTitle>
      <p>
        {count(rows)} {rows === 1 ? 'row' : 'rows'} of {source}: {count(added)} {added === 1 ? value : `${value}s`}{' '}
        added, {count(completed)} completed, {count(same)} there already.
      </p>
      {rest !== null && (
        <p>
          {count(rest.rows)} {rest.rows === 1 ? 'row was' : 'rows were'} left out and saved as a CSV file that says of
          each what is wrong. Mend it and bring it in with the same mapping.
        </p>
      )}
      <div className="notice-actions">
        {rest !== null && (
          <Button variant="default" onClick={() => saveRest(source, rest)}>
            Save the rows to mend again
          </Button>
        )}
        <Button variant="default" onClick={onAnother}>
          Bring in another file
        </Button>
        <a href={hrefOf('scale-house', part)}>{one} in the Scale House</a>
      </div>
    </div>
  )
}

/** Why nothing was brought in, line by line. */
export function RefusedReport({
  source,
  outcome: { problems, more, canTakeGood },
  onGoodRows,
}: {
  source: string
  outcome: Refused
  onGoodRows: () => void
}) {
  return (
    <div className="foreign-refused">
      <div className="notice" data-kind="problem">
        <ResultTitle>Not brought in</ResultTitle>
        <p>
          {source} has {more ? `more than ${count(problems.length)}` : count(problems.length)}{' '}
          {problems.length === 1 ? 'problem' : 'problems'}, so nothing of it was stored.
        </p>
        {canTakeGood && (
          <>
            <p>
              Mend the file or the mapping; or bring in the rows that are good and get the others as a CSV file to mend.
              A ticket or reading with a bad row stays whole with the others.
            </p>
            <div className="notice-actions">
              <Button variant="default" onClick={onGoodRows}>
                Bring in the good rows and save the others
              </Button>
            </div>
          </>
        )}
      </div>
      <ProblemTable label="Problems, line by line" problems={problems} more={more} />
    </div>
  )
}
