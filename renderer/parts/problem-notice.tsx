import { ORPCError } from '@orpc/client'
import type { ReactNode } from 'react'
import './notice.css'

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
