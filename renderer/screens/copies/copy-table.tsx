import type { CopiesList, CopyFacts, CopyRow } from '#core/api/copies-contract.ts'
import { moment } from '#renderer/parts/format.ts'
import { CheckMark } from './check-mark.tsx'
import type { CopyCheck } from './copy-checks.ts'
import { columnsFor, reasonWords } from './copy-words.ts'

const FactCells = ({ facts, columns }: { facts: CopyFacts; columns: ReturnType<typeof columnsFor> }) =>
  columns.map(({ label, isFigure, text }) => (
    <td key={label} className={isFigure ? 'figure' : 'nowrap'}>
      {text(facts)}
    </td>
  ))

interface CopyTableProps {
  readonly list: CopiesList
  readonly checkOf: (name: string) => CopyCheck
  readonly onCheck: (name: string) => void
  readonly onRestore: (copy: CopyRow) => void
}

/** Every copy with what is in it, below the open file for comparison. */
export function CopyTable({ list: { copies, now }, checkOf, onCheck, onRestore }: CopyTableProps) {
  const columns = columnsFor([...copies, ...(now ? [now] : [])])
  return (
    <div className="copies-frame">
      <table className="sheet-table copy-table">
        <caption className="unheard">Copies, newest first</caption>
        <thead>
          <tr>
            <th scope="col">Made</th>
            <th scope="col">Why</th>
            <th scope="col">State</th>
            {columns.map(({ label, isFigure }) => (
              <th key={label} scope="col" className={isFigure ? 'figure' : undefined}>
                {label}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {now && (
            <tr className="copy-now">
              <th scope="row" className="nowrap">
                Now
              </th>
              <td className="nowrap">The open file</td>
              <td />
              <FactCells facts={now} columns={columns} />
              <td />
            </tr>
          )}
          {copies.map((copy) => {
            const made = moment(copy.madeAt)
            const check = checkOf(copy.name)
            const isDamaged = typeof check === 'object' && !check.sound
            return (
              <tr key={copy.name}>
                <th scope="row" className="nowrap">
                  {made}
                </th>
                <td className="nowrap" title={copy.name}>
                  {reasonWords[copy.reason]}
                </td>
                <td className="nowrap">
                  <CheckMark check={check} about={`the copy of ${made}`} onAsk={() => onCheck(copy.name)} />
                </td>
                <FactCells facts={copy} columns={columns} />
                <td className="nowrap">
                  {!isDamaged && (
                    <button type="button" className="link" aria-haspopup="dialog" onClick={() => onRestore(copy)}>
                      Restore…<span className="unheard"> the copy of {made}</span>
                    </button>
                  )}
                </td>
              </tr>
            )
          })}
        </tbody>
      </table>
    </div>
  )
}
