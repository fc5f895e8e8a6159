import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useId, useRef, useState } from 'react'
import type { AttachmentView } from '#core/api/attachment-contract.ts'
import { attachmentTypes, sizeText } from '#core/fleet/attachment-file.ts'
import { api } from '#renderer/client/api.ts'
import { type Told, useAdding, usePageFiles } from '#renderer/parts/add-attachments.ts'
import { AttachmentThumbnail } from '#renderer/parts/attachment-thumbnail.tsx'
import { AttachmentDialog } from '#renderer/parts/attachment-view.tsx'
import { count, moment } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { TakeOffDialog } from '#renderer/parts/take-off-attachment.tsx'
import './attachments.css'

const typeWords = { 'image/jpeg': 'JPEG', 'image/png': 'PNG', 'application/pdf': 'PDF' } as const
const toldMarks: Readonly<Record<Told['kind'], string>> = { added: '✓', same: '=', warning: '!', problem: '✕' }

interface RowProps {
  readonly ticketId: number
  readonly attachment: AttachmentView
  readonly isOpening: boolean
  readonly onOpen: () => void
  readonly onTakeOff: (button: HTMLElement) => void
}

function Row({ ticketId, attachment, isOpening, onOpen, onTakeOff }: RowProps) {
  const { name, type, bytes, addedAt, addedBy } = attachment
  return (
    <li className="attachment">
      <AttachmentThumbnail ticketId={ticketId} attachment={attachment} />
      <div className="attachment-words">
        <button
          type="button"
          className="link attachment-name"
          aria-haspopup={type === 'application/pdf' ? undefined : 'dialog'}
          disabled={isOpening}
          onClick={onOpen}
        >
          <span className="unheard">{type === 'application/pdf' ? 'Save ' : 'Open '}</span>
          {name}
        </button>
        <span className="quiet">
          {typeWords[type]}, {sizeText(bytes)}
        </span>
        <span className="quiet">
          {addedBy !== null && addedAt !== null ? `${addedBy}, ${moment(addedAt)}` : 'From a fleet folder'}
        </span>
      </div>
      <button
        type="button"
        className="link"
        aria-haspopup="dialog"
        onClick={({ currentTarget }) => onTakeOff(currentTarget)}
      >
        Take off<span className="unheard"> {name}</span>
      </button>
    </li>
  )
}

/**
 * The scans and photos kept with a ticket: seen, opened, added by choosing, dropping or pasting, and taken off with a
 * reason. name: how people name the ticket.
 */
export function Attachments({ ticketId, name }: { ticketId: number; name: string }) {
  const list = useQuery(api.attachment.list.queryOptions({ input: { ticketId } }))
  const { add, told, waiting } = useAdding(ticketId)
  const isOver = usePageFiles((files) => void add(files))
  const saving = useMutation(api.attachment.read.mutationOptions({ onSuccess: saveFile }))
  const [shown, setShown] = useState<AttachmentView | null>(null)
  const [leaving, setLeaving] = useState<AttachmentView | null>(null)
  const input = useRef<HTMLInputElement>(null)
  const title = useRef<HTMLHeadingElement>(null)
  const titleId = useId()
  /** The button that asked to take one off. */
  const asked = useRef<HTMLElement>(null)
  const open = (attachment: AttachmentView) => {
    if (attachment.type === 'application/pdf') saving.mutate({ ticketId, sha256: attachment.sha256 })
    else setShown(attachment)
  }
  const endLeaving = (focusOn: HTMLElement | null) => {
    setLeaving(null)
    focusOn?.focus({ preventScroll: true })
  }
  return (
    <section className="attachments" data-over={isOver || undefined} aria-labelledby={titleId}>
      <div className="attachments-head">
        <h2 id={titleId} ref={title} tabIndex={-1}>
          Attachments
        </h2>
        <Button variant="default" onClick={() => input.current?.click()}>
          Add a scan or photo…
        </Button>
        <span className="quiet">or drop one on this page, or paste a picture. JPEG, PNG or PDF, up to 20 MB each.</span>
        <input
          ref={input}
          type="file"
          className="unheard"
          tabIndex={-1}
          multiple
          accept={attachmentTypes.join(',')}
          aria-label={`Scan or photo of ticket ${name}`}
          onChange={({ currentTarget }) => {
            void add([...(currentTarget.files ?? [])])
            currentTarget.value = ''
          }}
        />
      </div>
      <div role="status">
        {waiting > 0 && (
          <p>
            Adding {count(waiting)} {waiting === 1 ? 'file' : 'files'}…
          </p>
        )}
        {told.length > 0 && (
          <ul className="attachments-told" aria-label="What was added">
            {told.map(({ place, kind, text }) => (
              <li key={place} data-kind={kind}>
                <span aria-hidden="true">{toldMarks[kind]}</span> {text}
              </li>
            ))}
          </ul>
        )}
        {saving.data && <p className="quiet">Saved {saving.data.name}. Open it from where downloads go.</p>}
      </div>
      {saving.isError && <ProblemNotice title="The file cannot be opened" error={saving.error} />}
      {list.isError && <ProblemNotice title="The attachments could not be read" error={list.error} />}
      {list.data?.length === 0 && <p className="quiet">No scan or photo is kept with this ticket yet.</p>}
      {list.data && list.data.length > 0 && (
        <ul className="attachment-list" aria-label={`Attachments of ticket ${name}`}>
          {list.data.map((attachment) => (
            <Row
              key={attachment.sha256}
              ticketId={ticketId}
              attachment={attachment}
              isOpening={saving.isPending && saving.variables.sha256 === attachment.sha256}
              onOpen={() => open(attachment)}
              onTakeOff={(button) => {
                asked.current = button
                setLeaving(attachment)
              }}
            />
          ))}
        </ul>
      )}
      <AttachmentDialog ticketId={ticketId} ticket={name} attachment={shown} onClose={() => setShown(null)} />
      <TakeOffDialog
        ticketId={ticketId}
        attachment={leaving}
        onCancel={() => endLeaving(asked.current)}
        onDone={() => endLeaving(title.current)}
      />
    </section>
  )
}
