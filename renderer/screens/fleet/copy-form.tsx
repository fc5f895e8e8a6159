import { Button, Textarea, TextInput } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { count } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

const most = 50
const numbersIn = (text: string) =>
  text
    .split(/[\n,;]+/)
    .map((number) => number.trim())
    .filter(Boolean)

/** Why these numbers cannot be added, as a sentence; null when they can. */
function numbersProblem(numbers: readonly string[]): string | null {
  if (numbers.length === 0) return `No number is given; 1 to ${most} are accepted.`
  if (numbers.length > most) return `${count(numbers.length)} numbers are given; 1 to ${most} are accepted.`
  const twice = numbers.find((number, at) => numbers.indexOf(number) !== at)
  return twice === undefined ? null : `${twice} stands there twice.`
}

/** Adds units after the pattern of one, their numbers counting on from its own. */
export function CopyForm({
  unit,
  onDone,
  onCancel,
}: {
  unit: string
  onDone: (added: readonly string[]) => void
  onCancel: () => void
}) {
  const client = useQueryClient()
  const draft = useDraft(`copy ${unit}`, { count: '10', numbers: '' })
  const [asked, setAsked] = useState(false)
  const wanted = Number(draft.value.count)
  const next = useQuery(
    api.fleet.nextNumbers.queryOptions({
      input: { unit, count: wanted },
      enabled: Number.isInteger(wanted) && wanted >= 1 && wanted <= most,
    }),
  )
  const text = draft.value.numbers || (next.data ?? []).join('\n')
  const numbers = numbersIn(text)
  const problem = numbersProblem(numbers)
  const copy = useMutation(
    api.fleet.copyUnit.mutationOptions({
      onSuccess: async ({ added }) => {
        draft.clear()
        await client.invalidateQueries()
        onDone(added)
      },
    }),
  )
  const submit = async () => {
    setAsked(true)
    if (problem !== null) return
    const by = await personNow()
    if (by !== null) copy.mutate({ unit, numbers, by })
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
        Each new unit gets the facts, axle groups and circuits of {unit}; VIN, plate and sensors are its own and stay
        empty.
      </p>
      <div className="record-fields">
        <TextInput
          label="How many"
          inputMode="numeric"
          data-autofocus
          value={draft.value.count}
          onChange={(event) => draft.set({ count: event.currentTarget.value, numbers: '' })}
        />
      </div>
      <Textarea
        label="Their numbers, one a line"
        size="xs"
        autosize
        minRows={3}
        maxRows={12}
        value={text}
        error={asked && problem}
        onChange={(event) => draft.set({ ...draft.value, numbers: event.currentTarget.value })}
      />
      {copy.isError && <ProblemNotice title="Nothing was added" error={copy.error} />}
      <div className="record-actions">
        <Button type="submit" loading={copy.isPending}>
          Add {count(numbers.length)} {numbers.length === 1 ? 'unit' : 'units'}
        </Button>
        <Button variant="default" onClick={onCancel}>
          Close
        </Button>
      </div>
    </form>
  )
}
