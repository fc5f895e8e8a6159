import { Button, Modal, Textarea } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

const reasonProblem = (reason: string): string | null =>
  reason.trim() === '' ? 'The reason is empty; say what is wrong with this calibration.' : null

function Form({ id, onClose }: { id: number; onClose: () => void }) {
  const client = useQueryClient()
  const [reason, setReason] = useState('')
  const [asked, setAsked] = useState(false)
  const voiding = useMutation(
    api.weighIn.voidCalibration.mutationOptions({
      onSuccess: () => {
        onClose()
        return client.invalidateQueries()
      },
    }),
  )
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    if (reasonProblem(reason) !== null) return
    const by = await personNow()
    if (by !== null) voiding.mutate({ id, reason: reason.trim(), by })
  }
  return (
    <form className="dismiss" onSubmit={submit} noValidate>
      <p>
        A calibration is never edited. Voided, it stays in the list with its reason, its line is used no more, and the
        one before takes over. It can be undone, and made anew of tickets on record.
      </p>
      <Textarea
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
      {voiding.isError && <ProblemNotice title="The calibration was not voided" error={voiding.error} />}
      <div className="dismiss-actions">
        <Button type="submit" loading={voiding.isPending}>
          Void the calibration
        </Button>
        <Button variant="default" onClick={onClose}>
          Cancel
        </Button>
      </div>
    </form>
  )
}

/** Takes a calibration out of use, with a reason. */
export function VoidCalibration({ id, name }: { id: number; name: string }) {
  const [opened, setOpened] = useState(false)
  return (
    <>
      <button type="button" className="link" aria-haspopup="dialog" onClick={() => setOpened(true)}>
        Void<span className="unheard"> the calibration of {name}</span>
      </button>
      <Modal opened={opened} onClose={() => setOpened(false)} title={`Void the calibration of ${name}`} size="md">
        {opened && <Form id={id} onClose={() => setOpened(false)} />}
      </Modal>
    </>
  )
}
