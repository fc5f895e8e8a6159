import { Button, Modal, NativeSelect, TextInput } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import { type BatteryReason, batteryReasons } from '#core/fleet/vocabulary.ts'
import { api } from '#renderer/client/api.ts'
import { count, day } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

const reasonWords: Record<BatteryReason, string> = {
  scheduled: 'scheduled: it still worked',
  low: 'low: it reported low',
  dead: 'dead: it had stopped',
  new: 'new: first cell of the sensor',
}

interface MarkSwappedProps {
  serials: readonly string[]
  onDone: (said: string) => void
  onClose: () => void
}

function Form({ serials, onDone, onClose }: MarkSwappedProps) {
  const client = useQueryClient()
  const [on, setOn] = useState(() => day(new Date().toISOString()))
  const [cell, setCell] = useState('')
  const [reason, setReason] = useState<BatteryReason>('scheduled')
  const mark = useMutation(
    api.bench.markSwapped.mutationOptions({
      onSuccess: ({ swapped }) => {
        onDone(`${swapped === 1 ? '1 cell is' : `${count(swapped)} cells are`} marked swapped.`)
        return client.invalidateQueries()
      },
    }),
  )
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    const by = await personNow()
    if (by !== null) mark.mutate({ serials: [...serials], on, cell: cell.trim() || null, reason, by })
  }
  return (
    <form className="shop-mark" onSubmit={submit} noValidate>
      <p>
        {count(serials.length)} {serials.length === 1 ? 'cell' : 'cells'}:{' '}
        <span className="quiet">
          {serials.slice(0, 12).join(', ')}
          {serials.length > 12 && ` and ${count(serials.length - 12)} more`}
        </span>
      </p>
      <TextInput
        label="Swapped on"
        type="date"
        value={on}
        data-autofocus
        onChange={(event) => setOn(event.currentTarget.value)}
      />
      <TextInput
        label="New cell"
        description="empty: the type on record for each sensor"
        autoComplete="off"
        value={cell}
        onChange={(event) => setCell(event.currentTarget.value)}
      />
      <NativeSelect
        label="Why"
        data={batteryReasons.map((value) => ({ value, label: reasonWords[value] }))}
        value={reason}
        onChange={(event) => setReason(batteryReasons.find((each) => each === event.currentTarget.value) ?? reason)}
      />
      <p className="quiet">
        Each is recorded on its own. Old cells are no toys: keep them from children, and recycle them.
      </p>
      {mark.isError && <ProblemNotice title="Nothing was recorded" error={mark.error} />}
      <div className="shop-actions">
        <Button type="submit" loading={mark.isPending}>
          Mark swapped
        </Button>
        <Button variant="default" onClick={onClose}>
          Cancel
        </Button>
      </div>
    </form>
  )
}

/** Records the swaps of many cells in one go. */
export function MarkSwapped(props: MarkSwappedProps & { opened: boolean }) {
  return (
    <Modal opened={props.opened} onClose={props.onClose} title="Mark cells swapped" size="md">
      {props.opened && <Form {...props} />}
    </Modal>
  )
}
