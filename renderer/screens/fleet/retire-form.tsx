import { Button, TextInput } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

/** Takes a unit out of service, or back into it. Its record stays whole. */
export function RetireForm({
  unit,
  retired,
  onDone,
  onCancel,
}: {
  unit: string
  retired: boolean
  onDone: () => void
  onCancel: () => void
}) {
  const client = useQueryClient()
  const [reason, setReason] = useState('')
  const retire = useMutation(
    api.fleet.retire.mutationOptions({
      onSuccess: async () => {
        await client.invalidateQueries()
        onDone()
      },
    }),
  )
  const submit = async () => {
    const by = await personNow()
    if (by !== null) retire.mutate({ unit, retired: !retired, reason: reason.trim() || null, by })
  }
  return (
    <form
      className="record-form"
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        void submit()
      }}
    >
      <p>
        {retired
          ? `${unit} counts again in every plan and list.`
          : `${unit} is out of the shop’s plans; its record stays and it can be brought back.`}
      </p>
      <TextInput
        label="Why, for the change log"
        data-autofocus
        value={reason}
        maxLength={2000}
        onChange={(event) => setReason(event.currentTarget.value)}
      />
      {retire.isError && <ProblemNotice title="Nothing was saved" error={retire.error} />}
      <div className="record-actions">
        <Button type="submit" loading={retire.isPending}>
          {retired ? 'Bring back' : 'Retire'}
        </Button>
        <Button variant="default" onClick={onCancel}>
          Close
        </Button>
      </div>
    </form>
  )
}
