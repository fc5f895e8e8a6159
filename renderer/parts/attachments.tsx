import { Button, Modal, Textarea } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useEffect, useEffectEvent, useId, useRef, useState } from 'react'
import type { AttachmentView } from '#core/contracts/attachment.ts'
import { attachmentTypes, plainName, sizeProblem, sizeText } from '#core/words/attachment-file.ts'
import { api, client } from '#renderer/client/api.ts'
import { AttachmentDialog, AttachmentThumbnail } from '#renderer/parts/attachment-view.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice, problemText } from '#renderer/parts/problem-notice.tsx'
import './attachments.css'
import './dismiss-finding.css'

/** What became of a file, as a sentence. */
interface Outcome {
  readonly kind: 'added' | 'same' | 'warning' | 'problem'
  readonly text: string
}
export interface Told extends Outcome {
  readonly place: number
}

async function send(ticketId: number, file: File, by: string): Promise<Outcome> {
  const name = plainName(file.name)
  // Said here: what is too long for a call is not sent at all.
  const unfit = sizeProblem(name, file.size)
  if (unfit) return { kind: 'problem', text: `Not added: ${unfit.message}` }
  try {
    const { added, name: kept, warning } = await client.attachment.add({ ticketId, file, by })
    if (!added)
      return {
        kind: 'same',
        text: kept === name ? `${name} is attached already.` : `${name} is attached already, as ${kept}.`,
      }
    return warning === null
      ? { kind: 'added', text: `Added ${kept}.` }
      : { kind: 'warning', text: `Added, but ${warning}` }
  } catch (error) {
    const why = problemText(error)
    return { kind: 'problem', text: why.startsWith(name) ? `Not added: ${why}` : `${name} was not added. ${why}` }
  }
}

/** Adds files to a ticket one after another; more may come while some are still being added. */
export function useAdding(ticketId: number) {
  const queries = useQueryClient()
  const [told, setTold] = useState<readonly Told[]>([])
  const [waiting, setWaiting] = useState(0)
  const last = useRef(Promise.resolve())
  const add = async (files: readonly File[]) => {
    const by = files.length === 0 ? null : await personNow()
    if (by === null) return
    if (waiting === 0) setTold([])
    setWaiting((before) => before + files.length)
    last.current = last.current.then(async () => {
      for (const file of files) {
        const outcome = await send(ticketId, file, by)
        setTold((before) => [...before, { ...outcome, place: before.length }])
        setWaiting((before) => before - 1)
      }
      await queries.invalidateQueries()
    })
  }
  return { add, told, waiting }
}

/** A clipboard calls every picture `image.png`: the moment tells them apart. */
const pastedName = (name: string, now: string): string => (name === 'image.png' ? `pasted ${now}.png` : name)

/** The time of this computer, as a file's name can have it: 2026-03-01 14.30.05. */
function fileStamp(): string {
  const now = new Date()
  const local = new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString()
  return local.slice(0, 19).replace('T', ' ').replaceAll(':', '.')
}

const isTyping = (target: EventTarget | null) =>
  target instanceof Element && target.closest('input, textarea, [contenteditable], [role="dialog"]') !== null

/**
 * Takes files that are dropped anywhere on the page, which would otherwise show the file in its place, or pasted where
 * nobody types. Answers whether some are held over it.
 */
export function usePageFiles(take: (files: readonly File[]) => void): boolean {
  const [isOver, setOver] = useState(false)
  const takeNow = useEffectEvent(take)
  useEffect(() => {
    const listening = new AbortController()
    const { signal } = listening
    const hasFiles = ({ dataTransfer }: DragEvent) => dataTransfer?.types.includes('Files') === true
    document.addEventListener(
      'dragover',
      (event) => {
        if (!hasFiles(event)) return
        event.preventDefault()
        setOver(true)
      },
      { signal },
    )
    document.addEventListener(
      'dragleave',
      ({ relatedTarget }) => {
        if (relatedTarget === null) setOver(false)
      },
      { signal },
    )
    document.addEventListener(
      'drop',
      (event) => {
        if (!hasFiles(event)) return
        event.preventDefault()
        setOver(false)
        takeNow([...(event.dataTransfer?.files ?? [])])
      },
      { signal },
    )
    document.addEventListener(
      'paste',
      ({ target, clipboardData }) => {
        const files = [...(clipboardData?.files ?? [])]
        if (files.length > 0 && !isTyping(target))
          takeNow(files.map((file) => new File([file], pastedName(file.name, fileStamp()), { type: file.type })))
      },
      { signal },
    )
    return () => listening.abort()
  }, [])
  return isOver
}

const reasonProblem = (reason: string): string | null =>
  reason.trim() === '' ? 'The reason is empty; say why it does not belong to this ticket.' : null

interface TakeOffProps {
  readonly ticketId: number
  readonly attachment: AttachmentView
  readonly onDone: () => void
  readonly onCancel: () => void
}

function Form({ ticketId, attachment: { sha256, name }, onDone, onCancel }: TakeOffProps) {
  const client = useQueryClient()
  const [reason, setReason] = useState('')
  const [asked, setAsked] = useState(false)
  const taking = useMutation(
    api.attachment.takeOff.mutationOptions({
      onSuccess: () => {
        onDone()
        return client.invalidateQueries()
      },
    }),
  )
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    const field = event.currentTarget.elements.namedItem('reason') as HTMLElement | null
    if (reasonProblem(reason) !== null) {
      field?.focus()
      return
    }
    const by = await personNow()
    if (by !== null) taking.mutate({ ticketId, sha256, reason: reason.trim(), by })
  }
  return (
    <form className="dismiss" onSubmit={(event) => void submit(event)} noValidate>
      <p>
        {name} is no longer shown with the ticket. The file itself is kept, as copies name it, and the change log tells
        its name, your name and the reason. The step can be undone there.
      </p>
      <Textarea
        name="reason"
        label="Reason"
        size="xs"
        autosize
        minRows={2}
        maxRows={6}
        maxLength={2000}
        data-autofocus
        value={reason}
        error={asked && reasonProblem(reason)}
        onChange={(event) => setReason(event.currentTarget.value)}
      />
      {taking.isError && <ProblemNotice title="Nothing was taken off" error={taking.error} />}
      <div className="dismiss-actions">
        <Button type="submit" loading={taking.isPending}>
          Take off
        </Button>
        <Button variant="default" onClick={onCancel}>
          Cancel
        </Button>
      </div>
    </form>
  )
}

/**
 * Takes an attachment off its ticket, with a reason. Where the focus goes then is the list's to say: the button that
 * opened this may be gone.
 */
export function TakeOffDialog({
  attachment,
  onCancel,
  ...form
}: Omit<TakeOffProps, 'attachment'> & { readonly attachment: AttachmentView | null }) {
  return (
    <Modal
      opened={attachment !== null}
      onClose={onCancel}
      title={`Take off ${attachment?.name ?? ''}`}
      size="md"
      returnFocus={false}
    >
      {attachment && <Form {...form} attachment={attachment} onCancel={onCancel} />}
    </Modal>
  )
}

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
  const { times } = useMeasures()
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
          {addedBy !== null && addedAt !== null ? `${addedBy}, ${times.moment(addedAt)}` : 'From a fleet folder'}
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
