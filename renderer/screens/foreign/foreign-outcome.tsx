import { Button } from '@mantine/core'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { encodeText } from '#core/foreign/mapping/cells.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, counted } from '#renderer/parts/format.ts'
import { Notice } from '#renderer/parts/problem-notice.tsx'
import { ProblemTable, refusalWords } from '#renderer/parts/problem-table.tsx'
import { phrase } from '#core/words/phrase.ts'

type Rest = NonNullable<Extract<ForeignOutcome, { outcome: 'stored' }>['rest']>

/** Saves the rows that were left out as a CSV file to mend. */
export const saveRest = (name: string, { text, encoding }: Rest): void =>
  saveFile(new File([encodeText(text, encoding)], `${name.replace(/\.[^.]*$/, '')}-to-mend.csv`, { type: 'text/csv' }))

type Stored = Extract<ForeignOutcome, { outcome: 'stored' }>
type Refused = Extract<ForeignOutcome, { outcome: 'refused' }>

/** What was imported, and what was left out. */
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
    file === 'tickets.csv' ? [phrase('Tickets'), 'weight', 'tickets'] : [phrase('Readings'), 'pressure', 'readings']
  return (
    <Notice
      kind="done"
      title={added + completed === 0 ? phrase('Nothing new') : phrase('Imported')}
      arrives
      ways={
        <>
          {rest !== null && (
            <Button onClick={() => saveRest(source, rest)}>{phrase('Save the rows to fix again')}</Button>
          )}
          <Button onClick={onAnother}>{phrase('Import another file')}</Button>
          <a href={hrefOf('scale-house', part)}>{phrase('{one} in the Scale House', { one })}</a>
        </>
      }
    >
      <p>
        {phrase(
          '{rows, plural, one {# row} other {# rows}} of {source}: {added} added, {completed} completed, {same} there already.',
          { rows, source, added: counted(added, value), completed: count(completed), same: count(same) },
        )}
      </p>
      {rest !== null && (
        <p>
          {phrase(
            '{rows, plural, one {# row was} other {# rows were}} left out and saved as a CSV file that says of each what is wrong. Fix it and import it with the same mapping.',
            { rows: rest.rows },
          )}
        </p>
      )}
    </Notice>
  )
}

/** Why nothing was imported, line by line. */
export function RefusedReport({
  source,
  outcome,
  onGoodRows,
}: {
  source: string
  outcome: Refused
  onGoodRows: () => void
}) {
  return (
    <div className="stack">
      <Notice
        kind="problem"
        title={phrase('Not imported')}
        arrives
        ways={
          outcome.canTakeGood && (
            <Button onClick={onGoodRows}>{phrase('Import the good rows and save the others')}</Button>
          )
        }
      >
        <p>{refusalWords(source, outcome)}.</p>
        {outcome.canTakeGood && (
          <p>
            {phrase(
              'Fix the file or the mapping; or import the rows that are good and get the others as a CSV file to fix. A ticket or reading with a bad row stays whole with the others.',
            )}
          </p>
        )}
      </Notice>
      <ProblemTable label={phrase('Problems, line by line')} problems={outcome.problems} more={outcome.more} />
    </div>
  )
}
