import { useMutation, useQuery } from '@tanstack/react-query'
import { useEffect, useEffectEvent, useId, useRef, useState } from 'react'
import type { AttachmentView } from '#core/contracts/attachment.ts'
import { attachmentTypes, plainName, sizeProblem, sizeText } from '#core/words/attachment-file.ts'
import { localTimeOf } from '#core/words/day.ts'
import { api, client } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice, problemText } from '#renderer/parts/problem-notice.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { ReasonForm } from '#renderer/parts/save-form.tsx'
import { FileButton } from '#renderer/parts/source-chooser.tsx'
import { phrase } from '#core/words/phrase.ts'
import { AttachmentPicture, AttachmentThumbnail } from './attachment-view.tsx'
import './attachments.css'

/** What became of a file, as a sentence. */
interface Outcome {
  readonly kind: 'added' | 'same' | 'warning' | 'problem'
  readonly text: string
}
interface Told extends Outcome {
  readonly place: number
}

async function send(ticketId: number, file: File, by: string): Promise<Outcome> {
  const name = plainName(file.name)
  // Said here: what is too long for a call is not sent at all.
  const unfit = sizeProblem(name, file.size)
  if (unfit) return { kind: 'problem', text: phrase('Not added: {message}', { message: unfit.message }) }
  try {
    const { added, name: kept, warning } = await client.attachment.add({ ticketId, file, by })
    if (!added)
      return {
        kind: 'same',
        text:
          kept === name
            ? phrase('{name} is attached already.', { name })
            : phrase('{name} is attached already, as {kept}.', { name, kept }),
      }
    return warning === null
      ? { kind: 'added', text: phrase('Added {kept}.', { kept }) }
      : { kind: 'warning', text: phrase('Added, but {warning}', { warning }) }
  } catch (error) {
    const why = problemText(error)
    return {
      kind: 'problem',
      text: why.startsWith(name)
        ? phrase('Not added: {why}', { why })
        : phrase('{name} was not added. {why}', { name, why }),
    }
  }
}

/** Adds files to a ticket one after another; more may come while some are still being added. */
function useAdding(ticketId: number) {
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
    })
  }
  return { add, told, waiting }
}

/** A clipboard calls every picture `image.png`: the moment on the fleet's clocks tells them apart. */
function named(file: File, zone: string): File {
  if (file.name !== 'image.png') return file
  const now = Date.now()
  const seconds = String(Math.floor(now / 1000) % 60).padStart(2, '0')
  const stamp = `${localTimeOf(now, zone).replace('T', ' ').replace(':', '.')}.${seconds}`
  return new File([file], `pasted ${stamp}.png`, { type: file.type })
}

const isTyping = (target: EventTarget | null) =>
  target instanceof Element && target.closest('input, textarea, [contenteditable], [role="dialog"]') !== null

/**
 * Takes files that are dropped anywhere on the page, which would otherwise show the file in its place, or pasted where
 * nobody types. Answers whether some are held over it.
 */
function usePageFiles(take: (files: readonly File[]) => void): boolean {
  const [isOver, setOver] = useState(false)
  const { zone } = useMeasures().times
  const takeNow = useEffectEvent(take)
  const takePasted = useEffectEvent((files: readonly File[]) => take(files.map((file) => named(file, zone))))
  useEffect(() => {
    const listening = new AbortController()
    const listen = <K extends keyof DocumentEventMap>(kind: K, act: (event: DocumentEventMap[K]) => void) =>
      document.addEventListener(kind, act, { signal: listening.signal })
    /** Whether files are held over the page; the browser then leaves them to it. */
    const holdsFiles = (event: DragEvent) => {
      const holds = event.dataTransfer?.types.includes('Files') === true
      if (holds) event.preventDefault()
      return holds
    }
    listen('dragover', (event) => {
      if (holdsFiles(event)) setOver(true)
    })
    listen('dragleave', ({ relatedTarget }) => {
      if (relatedTarget === null) setOver(false)
    })
    listen('drop', (event) => {
      if (!holdsFiles(event)) return
      setOver(false)
      takeNow([...(event.dataTransfer?.files ?? [])])
    })
    listen('paste', ({ target, clipboardData }) => {
      const files = [...(clipboardData?.files ?? [])]
      if (files.length > 0 && !isTyping(target)) takePasted(files)
    })
    return () => listening.abort()
  }, [])
  return isOver
}

interface TakeOffProps {
  readonly ticketId: number
  readonly attachment: AttachmentView | null
  readonly onDone: () => void
  readonly onCancel: () => void
}

/**
 * Takes an attachment off its ticket, with a reason. Where the focus goes then is the list's to say: the button that
 * opened this may be gone.
 */
function TakeOffDialog({ ticketId, attachment, onDone, onCancel }: TakeOffProps) {
  return (
    <Dialog
      opened={attachment !== null}
      onClose={onCancel}
      title={phrase('Remove {name}', { name: attachment?.name ?? '' })}
      size="md"
      returnFocus={false}
    >
      {attachment && (
        <ReasonForm
          empty={phrase('say why it does not belong to this ticket.')}
          saveLabel={phrase('Remove')}
          failed={phrase('Nothing was removed')}
          onSave={(answer) => client.attachment.takeOff({ ticketId, sha256: attachment.sha256, ...answer })}
          onDone={onDone}
          onCancel={onCancel}
        >
          <p>
            {phrase(
              '{name} is no longer shown with the ticket. The file itself is kept, as copies name it, and the change log tells its name, your name and the reason. The step can be undone there.',
              { name: attachment.name },
            )}
          </p>
        </ReasonForm>
      )}
    </Dialog>
  )
}

const typeWords = { 'image/jpeg': 'JPEG', 'image/png': 'PNG', 'application/pdf': 'PDF' } as const
const toldMarks: Readonly<Record<Told['kind'], string>> = { added: '✓', same: '=', warning: '!', problem: '✕' }

interface RowProps {
  readonly ticketId: number
  readonly attachment: AttachmentView
  readonly isOpening: boolean
  readonly isShown: boolean
  readonly onOpen: () => void
  readonly onTakeOff: (button: HTMLElement) => void
}

function Row({ ticketId, attachment, isOpening, isShown, onOpen, onTakeOff }: RowProps) {
  const { times } = useMeasures()
  const { name, type, bytes, addedAt, addedBy } = attachment
  return (
    <li className="attachment">
      <AttachmentThumbnail ticketId={ticketId} attachment={attachment} />
      <div className="attachment-words">
        <LinkButton
          className="link attachment-name"
          aria-pressed={type === 'application/pdf' ? undefined : isShown}
          disabled={isOpening}
          onClick={onOpen}
        >
          <span className="unheard">{type === 'application/pdf' ? phrase('Save ') : phrase('Show ')}</span>
          {name}
        </LinkButton>
        <span className="quiet">
          {typeWords[type]}, {sizeText(bytes)}
        </span>
        <span className="quiet">
          {addedBy !== null && addedAt !== null
            ? `${addedBy}, ${times.moment(addedAt)}`
            : phrase('From a fleet folder')}
        </span>
      </div>
      {useMay()('attachment.takeOff') && (
        <LinkButton asks about={name} onClick={({ currentTarget }) => onTakeOff(currentTarget)}>
          {phrase('Remove')}
        </LinkButton>
      )}
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
  const mayAdd = useMay()('attachment.add')
  const isOver = usePageFiles((files) => mayAdd && void add(files))
  const saving = useMutation(api.attachment.read.mutationOptions({ onSuccess: saveFile }))
  const [chosen, setChosen] = useState<string | null>(null)
  const pictures = (list.data ?? []).filter(({ type }) => type !== 'application/pdf')
  // The first picture stands beside the fields by itself.
  const shown = pictures.find(({ sha256 }) => sha256 === chosen) ?? pictures[0]
  const [leaving, setLeaving] = useState<AttachmentView | null>(null)
  const title = useRef<HTMLHeadingElement>(null)
  const titleId = useId()
  /** The button that asked to take one off. */
  const asked = useRef<HTMLElement>(null)
  const open = (attachment: AttachmentView) => {
    if (attachment.type === 'application/pdf') saving.mutate({ ticketId, sha256: attachment.sha256 })
    else setChosen(attachment.sha256)
  }
  const endLeaving = (focusOn: HTMLElement | null) => {
    setLeaving(null)
    focusOn?.focus({ preventScroll: true })
  }
  return (
    <section className="attachments" data-over={isOver || undefined} aria-labelledby={titleId}>
      <div className="flow attachments-head">
        <h2 id={titleId} ref={title} tabIndex={-1}>
          {phrase('Attachments')}
        </h2>
        {mayAdd && (
          <>
            <FileButton
              heard={phrase('Scan or photo of ticket {name}', { name })}
              accept={attachmentTypes.join(',')}
              multiple
              onFiles={(files) => void add([...files])}
            >
              {phrase('Add a scan or photo…')}
            </FileButton>
            <span className="quiet">
              {phrase('or drop one on this page, or paste a picture. JPEG, PNG or PDF, up to 20 MB each.')}
            </span>
          </>
        )}
      </div>
      <div role="status">
        {waiting > 0 && <p>{phrase('Adding {waiting, plural, one {# file} other {# files}}…', { waiting })}</p>}
        {told.length > 0 && (
          <ul className="bare attachments-told" aria-label={phrase('What was added')}>
            {told.map(({ place, kind, text }) => (
              <li key={place} data-kind={kind}>
                <span aria-hidden="true">{toldMarks[kind]}</span> {text}
              </li>
            ))}
          </ul>
        )}
        {saving.data && (
          <p className="quiet">
            {phrase('Saved {name}. Open it from where downloads go.', { name: saving.data.name })}
          </p>
        )}
      </div>
      {saving.isError && <ProblemNotice title={phrase('The file cannot be opened')} error={saving.error} />}
      {list.isError && <ProblemNotice title={phrase('The attachments could not be read')} error={list.error} />}
      {list.data?.length === 0 && <p className="quiet">{phrase('No scan or photo is kept with this ticket yet.')}</p>}
      {list.data && list.data.length > 0 && (
        <ul className="bare attachment-list" aria-label={phrase('Attachments of ticket {name}', { name })}>
          {list.data.map((attachment) => (
            <Row
              key={attachment.sha256}
              ticketId={ticketId}
              attachment={attachment}
              isOpening={saving.isPending && saving.variables.sha256 === attachment.sha256}
              isShown={attachment === shown}
              onOpen={() => open(attachment)}
              onTakeOff={(button) => {
                asked.current = button
                setLeaving(attachment)
              }}
            />
          ))}
        </ul>
      )}
      {shown && <AttachmentPicture ticketId={ticketId} ticket={name} attachment={shown} />}
      <TakeOffDialog
        ticketId={ticketId}
        attachment={leaving}
        onCancel={() => endLeaving(asked.current)}
        onDone={() => endLeaving(title.current)}
      />
    </section>
  )
}
