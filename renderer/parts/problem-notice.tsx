import { ORPCError } from '@orpc/client'
import type { ReactNode } from 'react'
import type { FieldConflictView } from '#core/contracts/base.ts'
import type { Draft } from '#renderer/parts/draft.ts'
import { unknownText } from '#renderer/parts/record-text.ts'
import './draft-note.css'
import './notice.css'
import './sheet-table.css'

/** What went wrong as a sentence for a person. */
export function problemText(error: unknown): string {
  if (error instanceof TypeError)
    return 'The app’s core does not answer. If it was closed, start Tareline again; what was saved is safe.'
  if (error instanceof Error && error.message) return error.message
  return 'The app could not finish this. Nothing was changed; the details are in the app’s log.'
}

interface Details {
  field: string
  value: string
  accepted: string
}

function detailsOf(error: unknown): Details | undefined {
  if (!(error instanceof ORPCError) || error.code !== 'REFUSED') return undefined
  const data = error.data as Partial<Details> | undefined
  return data?.field && data.accepted
    ? { field: data.field, value: data.value ?? '', accepted: data.accepted }
    : undefined
}

/** An error where it happened: what could not be done, why, and a way on. */
export function ProblemNotice({ title, error, children }: { title: string; error: unknown; children?: ReactNode }) {
  const details = detailsOf(error)
  return (
    <div className="notice" data-kind="problem" role="alert">
      <h2 className="notice-title">{title}</h2>
      <p>{problemText(error)}</p>
      {details && (
        <dl className="notice-details">
          <dt>Field</dt>
          <dd>{details.field}</dd>
          <dt>Value</dt>
          <dd>{details.value || 'empty'}</dd>
          <dt>Accepted</dt>
          <dd>{details.accepted}</dd>
        </dl>
      )}
      {children && <div className="notice-actions">{children}</div>}
    </div>
  )
}

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

/** Says that a form holds what was typed before and not saved, and offers to give it up. */
export function DraftNote({ draft }: { draft: Pick<Draft<unknown>, 'restored' | 'clear'> }) {
  if (!draft.restored) return null
  return (
    <p className="draft-note">
      <strong>Kept for you:</strong> this was typed before and not saved.{' '}
      <button type="button" className="link" onClick={draft.clear}>
        Give it up
      </button>
    </p>
  )
}
