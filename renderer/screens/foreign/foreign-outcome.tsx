import { Button } from '@mantine/core'
import type { ForeignOutcome } from '#core/api/foreign-contract.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { saveRest } from './rest-file.ts'

type Stored = Extract<ForeignOutcome, { outcome: 'stored' }>
type Refused = Extract<ForeignOutcome, { outcome: 'refused' }>

function StoredReport({ source, outcome: { files, rows, rest }, onAnother }: { source: string; outcome: Stored; onAnother: () => void }) {
  const { file = '', added = 0, completed = 0, same = 0 } = files[0] ?? {}
  const [one, values, part] = file === 'tickets.csv' ? ['Tickets', 'weights', 'tickets'] : ['Readings', 'pressures', 'readings']
  return (
    <div className="notice" data-kind="done">
      <h2 className="notice-title" id="foreign-result" tabIndex={-1}>{added + completed === 0 ? 'Nothing new' : 'Brought in'}</h2>
      <p>{count(rows)} {rows === 1 ? 'row' : 'rows'} of {source}: {count(added)} {values} added, {count(completed)} completed, {count(same)} there already.</p>
      {rest !== null && <p>{count(rest.rows)} {rest.rows === 1 ? 'row was' : 'rows were'} left out and saved as a CSV file that says of each what is wrong. Mend it and bring it in with the same mapping.</p>}
      <div className="notice-actions">
        {rest !== null && <Button variant="default" onClick={() => saveRest(source, rest)}>Save the rows to mend again</Button>}
        <Button variant="default" onClick={onAnother}>Bring in another file</Button>
        <a href={hrefOf('scale-house', part)}>{one} in the Scale House</a>
      </div>
    </div>
  )
}

function RefusedReport({ source, outcome: { problems, more, canTakeGood }, onGoodRows }: { source: string; outcome: Refused; onGoodRows: () => void }) {
  return (
    <div className="foreign-refused">
      <div className="notice" data-kind="problem">
        <h2 className="notice-title" id="foreign-result" tabIndex={-1}>Not brought in</h2>
        <p>{source} has {more ? `more than ${count(problems.length)}` : count(problems.length)} {problems.length === 1 ? 'problem' : 'problems'}, so nothing of it was stored.</p>
        {canTakeGood && (
          <>
            <p>Mend the file or the mapping; or bring in the rows that are good and get the others as a CSV file to mend. A ticket or reading with a bad row stays whole with the others.</p>
            <div className="notice-actions"><Button variant="default" onClick={onGoodRows}>Bring in the good rows and save the others</Button></div>
          </>
        )}
      </div>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="foreign-frame" aria-label="Problems, line by line" tabIndex={0}>
        <table className="sheet-table">
          <caption className="unheard">Problems, line by line</caption>
          <thead><tr><th scope="col" className="figure">Line</th><th scope="col">Column</th><th scope="col">Value</th><th scope="col">Accepted</th><th scope="col">What is wrong</th></tr></thead>
          <tbody>
            {problems.map(({ line, column, value, accepted, message }) => (
              <tr key={`${line} ${column} ${message}`}><th scope="row" className="figure">{line === null ? '' : count(line)}</th><td>{column ?? ''}</td><td className="foreign-cell">{value}</td><td>{accepted}</td><td>{message}</td></tr>
            ))}
          </tbody>
        </table>
      </section>
      {more && <p className="quiet">There are more; these are the first {count(problems.length)}.</p>}
    </div>
  )
}

interface ReportProps {
  readonly source: string
  readonly outcome: ForeignOutcome
  readonly onGoodRows: () => void
  readonly onAnother: () => void
}

/** What came of a foreign file: its counts, or its problems by line. */
export function ForeignReport({ source, outcome, onGoodRows, onAnother }: ReportProps) {
  return outcome.outcome === 'stored' ? <StoredReport source={source} outcome={outcome} onAnother={onAnother} /> : <RefusedReport source={source} outcome={outcome} onGoodRows={onGoodRows} />
}
