import type { RowProblemView } from '#core/contracts/import.ts'
import { count } from '#renderer/parts/format.ts'
import './problem-table.css'
import './sheet-table.css'

interface ProblemTableProps {
  readonly label: string
  readonly problems: readonly RowProblemView[]
  /** Whether there are more than these. */
  readonly more: boolean
  /** Whether they are of several files, each told by its name. */
  readonly files?: boolean
}

/** What an import was refused for, row by row. */
export function ProblemTable({ label, problems, more, files = false }: ProblemTableProps) {
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="problem-table" aria-label={label} tabIndex={0}>
        <table className="sheet-table">
          <caption className="unheard">{label}</caption>
          <thead>
            <tr>
              {files && <th scope="col">File</th>}
              <th scope="col" className="figure">
                Line
              </th>
              <th scope="col">Column</th>
              <th scope="col">Value</th>
              <th scope="col">Accepted</th>
              <th scope="col">What is wrong</th>
            </tr>
          </thead>
          <tbody>
            {problems.map(({ file, line, column, value, accepted, message }) => (
              <tr key={`${file} ${line} ${column} ${message}`}>
                {files && <th scope="row">{file}</th>}
                {files ? (
                  <td className="figure">{line === null ? '' : count(line)}</td>
                ) : (
                  <th scope="row" className="figure">
                    {line === null ? '' : count(line)}
                  </th>
                )}
                <td>{column ?? ''}</td>
                <td className="problem-value">{value}</td>
                <td>{accepted}</td>
                <td>{message}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {more && <p className="quiet">There are more problems; these are the first {count(problems.length)}.</p>}
    </>
  )
}
