import { Button } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { typedProblem, typedValue, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import type { TypedReading, WeighDraft } from './typed-reading.ts'

interface SaveReadingProps {
  units: readonly string[]
  draft: WeighDraft
  typed: TypedReading
  onSaved: (reading: string) => void
}

/** Keeps what was typed as a reading of the record. */
export function SaveReading({ units, draft, typed, onSaved }: SaveReadingProps) {
  const client = useQueryClient()
  const [asked, setAsked] = useState(false)
  const save = useMutation(
    api.weigh.save.mutationOptions({
      onSuccess: ({ reading }) => {
        setAsked(false)
        onSaved(reading)
        return client.invalidateQueries()
      },
    }),
  )
  const { zone } = useMeasures().times
  const wrong =
    typed.noTime !== null ||
    [...typed.circuits.map((circuit) => circuit.typed), typed.elevation, typed.temperature].some(
      (each) => typedProblem(each) !== null,
    )
  const pressures = typed.circuits.flatMap(({ unit, group, circuit, typed: psi }) =>
    psi.kind === 'value' ? [{ unit, group, circuit, psi: psi.value }] : [],
  )
  const refused = wrong
    ? 'A field above is not accepted; nothing is saved until it is.'
    : pressures.length === 0
      ? 'Type at least one pressure to save a reading.'
      : null
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    if (refused !== null) return
    const by = await personNow()
    if (by !== null) {
      save.mutate({
        units: [...units],
        takenAt: new Date(draft.takenAt === '' ? Date.now() : typed.takenAt).toISOString(),
        localZone: zone,
        elevationFt: typedValue(typed.elevation),
        temperatureF: typedValue(typed.temperature),
        lift: typed.lift,
        note: draft.note.trim() || null,
        pressures,
        by,
      })
    }
  }
  return (
    <form className="weigh-save" onSubmit={submit} noValidate>
      <Button type="submit" loading={save.isPending}>
        Save as a reading
      </Button>
      {asked && refused !== null && (
        <p role="alert" className="weigh-missing">
          {refused}
        </p>
      )}
      {save.isError && <ProblemNotice title="The reading was not saved" error={save.error} />}
    </form>
  )
}
