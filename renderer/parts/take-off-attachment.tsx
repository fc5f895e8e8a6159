import { Button, Modal, Textarea } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import type { AttachmentView } from '#core/api/attachment-contract.ts'
import { api } from '#renderer/client/api.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import './dismiss-finding.css'

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
