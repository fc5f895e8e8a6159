import type { FieldConflictView } from '#core/api/contract.ts'
import { unknownText } from '#renderer/parts/words.ts'
import './notice.css'
import './sheet-table.css'

interface ConflictNoticeProps {
  /** What happened, as a sentence. */
  readonly message: string
  readonly conflicts: readonly FieldConflictView[]
  readonly labelOf: (field: string) => string
  readonly textOf: (field: string, value: FieldConflictView['stored']) => string
  /** Keeps what was typed, now that the other value has been seen. */
  readonly onKeep: (conflict: FieldConflictView) => void
  /** Takes what is stored by now. */
  readonly onTake: (conflict: FieldConflictView) => void
}

/** Two people changed the same fields: both values stand side by side until one of them is chosen. */
export function ConflictNotice({ message, conflicts, labelOf, textOf, onKeep, onTake }: ConflictNoticeProps) {
  const shown = (field: string, value: FieldConflictView['stored']) =>
    value === null ? unknownText : textOf(field, value)
  return (
    <div className="notice" data-kind="problem" role="alert">
      <h3 className="notice-title">Changed in another window</h3>
      <p>{message}</p>
      <table className="sheet-table">
        <thead>
          <tr>
            <th scope="col">Field</th>
            <th scope="col">You saw</th>
            <th scope="col">Stored by now</th>
            <th scope="col">You typed</th>
            <td />
          </tr>
        </thead>
        <tbody>
          {conflicts.map((conflict) => (
            <tr key={conflict.field}>
              <th scope="row">{labelOf(conflict.field)}</th>
              <td>{shown(conflict.field, conflict.was)}</td>
              <td>{shown(conflict.field, conflict.stored)}</td>
              <td>{shown(conflict.field, conflict.typed)}</td>
              <td className="nowrap">
                <button type="button" className="link" onClick={() => onKeep(conflict)}>
                  Keep mine<span className="unheard"> for {labelOf(conflict.field)}</span>
                </button>{' '}
                <button type="button" className="link" onClick={() => onTake(conflict)}>
                  Take theirs<span className="unheard"> for {labelOf(conflict.field)}</span>
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}
