import { ORPCError } from '@orpc/client'
import type { ReactNode } from 'react'
import type { FieldConflictView } from '#core/contracts/base.ts'
import type { Draft } from '#renderer/parts/draft.ts'
import { Facts } from '#renderer/parts/facts.tsx'
import { LinkButton } from '#renderer/parts/links.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import './notice.css'

/** What went wrong as a sentence for a person. */
export function problemText(error: unknown): string {
  if (error instanceof TypeError)
    return phrase('The app’s core does not answer. If it was closed, start Tareline again; what was saved is safe.')
  // What is too long for a call is turned away before anything of the app has seen it.
  if (error instanceof ORPCError && error.code === 'PAYLOAD_TOO_LARGE')
    return phrase(
      'This is too much for one step, and nothing of it was saved. A picture may have 20 MB; import large files on the Fleet folder screen.',
    )
  if (error instanceof Error && error.message) return error.message
  return phrase('The app could not finish this. Nothing was changed; the details are in the app’s log.')
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

interface NoticeProps {
  readonly kind?: 'problem' | 'done'
  readonly title: string
  /** Whether the title takes the focus when it comes, so that it is heard; else the whole is read out as it comes. */
  readonly arrives?: boolean
  readonly as?: 'h2' | 'h3' | undefined
  readonly children?: ReactNode
  /** Ways on. */
  readonly ways?: ReactNode
}

const takeFocus = (title: HTMLElement | null) => title?.focus()
const roles = { problem: 'alert', done: 'status' } as const

/** Something that has come of what was done. */
export const Notice = ({ kind, title, arrives = false, as: Title = 'h2', children, ways }: NoticeProps) => (
  <div className="notice" data-kind={kind} role={arrives ? undefined : roles[kind ?? 'done']}>
    <Title className="notice-title" {...(arrives ? { tabIndex: -1, ref: takeFocus } : {})}>
      {title}
    </Title>
    {children}
    {ways && <div className="notice-actions">{ways}</div>}
  </div>
)

/** An error where it happened: what could not be done, why, and a way on. */
export function ProblemNotice({ title, error, children }: { title: string; error: unknown; children?: ReactNode }) {
  const details = detailsOf(error)
  return (
    <Notice kind="problem" title={title} ways={children}>
      <p>{problemText(error)}</p>
      {details && (
        <Facts
          as="pairs"
          facts={[
            [phrase('Field'), details.field],
            [phrase('Value'), details.value || phrase('empty')],
            [phrase('Accepted'), details.accepted],
          ]}
        />
      )}
    </Notice>
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
    <Notice kind="problem" as="h3" title={phrase('Changed in another window')}>
      <p>{message}</p>
      <SheetTable
        rows={conflicts}
        keyOf={({ field }) => field}
        columns={[
          [phrase('Field'), ({ field }) => labelOf(field)],
          [phrase('You saw'), ({ field, was }) => shown(field, was)],
          [phrase('Stored by now'), ({ field, stored }) => shown(field, stored)],
          [phrase('You typed'), ({ field, typed }) => shown(field, typed)],
          [
            null,
            (conflict) => (
              <>
                <LinkButton
                  about={phrase('for {field}', { field: labelOf(conflict.field) })}
                  onClick={() => onKeep(conflict)}
                >
                  {phrase('Keep mine')}
                </LinkButton>{' '}
                <LinkButton
                  about={phrase('for {field}', { field: labelOf(conflict.field) })}
                  onClick={() => onTake(conflict)}
                >
                  {phrase('Take theirs')}
                </LinkButton>
              </>
            ),
            'nowrap',
          ],
        ]}
      />
    </Notice>
  )
}

/** Says that a form holds what was typed before and not saved, and offers to discard it. */
export function DraftNote({ draft }: { draft: Pick<Draft<unknown>, 'restored' | 'clear'> }) {
  if (!draft.restored) return null
  return (
    <p className="draft-note">
      <strong>{phrase('Unsaved draft restored.')}</strong>{' '}
      <LinkButton onClick={draft.clear}>{phrase('Discard it')}</LinkButton>
    </p>
  )
}
