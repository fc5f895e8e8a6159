import { Button, Modal, Textarea } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { useRef, useState } from 'react'
import type { DismissedView } from '#core/contracts/base.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import './dismiss-finding.css'
import './set-aside-list.css'

const mostLetters = 2000

function reasonProblem(reason: string): string | null {
  if (reason.trim() === '') return 'The reason is empty; say why this finding needs no work.'
  return reason.trim().length > mostLetters
    ? `The reason has ${reason.trim().length} letters; ${mostLetters} at most are kept.`
    : null
}

interface DismissFindingProps {
  readonly title: string
  readonly message: string
  /** What brings it back, as the rest of a sentence: `another weighing of this group`. */
  readonly returnsWith: string
  /** Id of the heading that takes the focus once the finding, and its button with it, is gone. */
  readonly focusAfter: string
  readonly onDismiss: (dismissal: { reason: string; by: string }) => Promise<unknown>
}

function DismissForm({
  message,
  returnsWith,
  onDismiss,
  onDone,
  onCancel,
}: Omit<DismissFindingProps, 'title' | 'focusAfter'> & { onDone: () => void; onCancel: () => void }) {
  const client = useQueryClient()
  const [reason, setReason] = useState('')
  const [asked, setAsked] = useState(false)
  const dismiss = useMutation({
    mutationFn: onDismiss,
    onSuccess: () => {
      onDone()
      return client.invalidateQueries()
    },
  })
  const problem = reasonProblem(reason)
  const submit = async (form: HTMLFormElement) => {
    setAsked(true)
    if (problem !== null) {
      ;(form.elements.namedItem('reason') as HTMLElement | null)?.focus()
      return
    }
    const by = await personNow()
    if (by !== null) dismiss.mutate({ reason: reason.trim(), by })
  }
  return (
    <form
      className="dismiss"
      onSubmit={(event) => {
        event.preventDefault()
        void submit(event.currentTarget)
      }}
      noValidate
    >
      <p>{message}</p>
      <p className="quiet">
        It stays away until new evidence arrives: {returnsWith}. The reason and your name are kept in the change log.
      </p>
      <Textarea
        name="reason"
        label="Reason"
        size="xs"
        autosize
        minRows={2}
        maxRows={8}
        data-autofocus
        value={reason}
        error={asked && problem}
        onChange={(event) => setReason(event.currentTarget.value)}
      />
      {dismiss.isError && <ProblemNotice title="The finding was not set aside" error={dismiss.error} />}
      <div className="dismiss-actions">
        <Button type="submit" loading={dismiss.isPending}>
          Set aside
        </Button>
        <Button variant="default" onClick={onCancel}>
          Cancel
        </Button>
      </div>
    </form>
  )
}

/**
 * Sets a finding aside with a reason and a name. One of severity stop asks for work and cannot be: it gets no such
 * button.
 */
export function DismissFinding({ title, focusAfter, ...form }: DismissFindingProps) {
  const [opened, setOpened] = useState(false)
  const button = useRef<HTMLButtonElement>(null)
  // The window would give the focus back to the button, which goes with its finding.
  const close = (focusOn: HTMLElement | null) => {
    setOpened(false)
    focusOn?.focus({ preventScroll: true })
  }
  const cancel = () => close(button.current)
  return (
    <>
      <button ref={button} type="button" className="link" aria-haspopup="dialog" onClick={() => setOpened(true)}>
        Set aside<span className="unheard"> {title}</span>
      </button>
      <Modal opened={opened} onClose={cancel} title={`Set aside: ${title}`} size="lg" returnFocus={false}>
        <DismissForm {...form} onDone={() => close(document.getElementById(focusAfter))} onCancel={cancel} />
      </Modal>
    </>
  )
}

/** What was set aside, by whom and why, newest first; a finding that came back on new evidence stands above as well. */
export function SetAsideList({ setAside }: { setAside: readonly DismissedView[] }) {
  const { times } = useMeasures()
  if (setAside.length === 0) return null
  return (
    <details className="set-aside">
      <summary>{count(setAside.length)} set aside</summary>
      <ol>
        {setAside.map(({ at, by, message, reason }) => (
          <li key={`${at} ${message}`}>
            <p>{message}</p>
            <p className="quiet">
              {times.moment(at)}, {by}: {reason}
            </p>
          </li>
        ))}
      </ol>
    </details>
  )
}
