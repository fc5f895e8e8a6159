import { Button } from '@mantine/core'
import { type SubmitEvent, useState } from 'react'
import type { SaveReadingInput } from '#core/contracts/weigh.ts'
import { type SaveOutcome, save as saveOnce } from '#renderer/client/outbox.ts'
import { typedProblem, typedValue, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type TypedReading, type WeighDraft, weighDraftName } from './typed-reading.ts'

interface SaveReadingProps {
  units: readonly string[]
  draft: WeighDraft
  /** Whether drivers are named. */
  namesDrivers: boolean
  typed: TypedReading
  onSaved: (outcome: SaveOutcome) => void
}

/** Keeps what was typed as a reading of the record. */
export function SaveReading({ units, draft, namesDrivers, typed, onSaved }: SaveReadingProps) {
  const [asked, setAsked] = useState(false)
  const { times } = useMeasures()
  const save = useSaving(
    (reading: Omit<SaveReadingInput, 'by' | 'sent'>, by) =>
      saveOnce({
        person: by,
        byClock: draft.takenAt === '',
        words: reading.units.join(' + '),
        call: { procedure: 'weigh.save', input: { ...reading, by } },
        photos: [],
        form: {
          screen: 'weigh',
          draft: weighDraftName,
          text: JSON.stringify({ ...draft, takenAt: times.typed(reading.takenAt) }),
        },
      }),
    (outcome) => {
      setAsked(false)
      onSaved(outcome)
    },
  )
  const wrong =
    typed.noTime !== null ||
    [...typed.circuits.map((circuit) => circuit.typed), typed.elevation, typed.temperature].some(
      (each) => typedProblem(each) !== null,
    )
  const pressures = typed.circuits.flatMap(({ unit, group, circuit, typed: psi }) =>
    psi.kind === 'value' ? [{ unit, group, circuit, psi: psi.value }] : [],
  )
  const refused = wrong
    ? phrase('A field above is not accepted; nothing is saved until it is.')
    : pressures.length === 0
      ? phrase('Type at least one pressure to save a reading.')
      : null
  const submit = (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    setAsked(true)
    if (refused !== null) return
    void save.send({
      units: [...units],
      takenAt: new Date(draft.takenAt === '' ? Date.now() : typed.takenAt).toISOString(),
      localZone: times.zone,
      elevationFt: typedValue(typed.elevation),
      temperatureF: typedValue(typed.temperature),
      lift: typed.lift,
      note: draft.note.trim() || null,
      driver: (namesDrivers && draft.driver?.trim()) || null,
      lane: draft.lane?.trim() || null,
      pressures,
    })
  }
  return (
    <form className="flow weigh-save" onSubmit={submit} noValidate>
      <Button variant="filled" type="submit" loading={save.isPending}>
        {phrase('Save as a reading')}
      </Button>
      {asked && refused !== null && (
        <p role="alert" className="weigh-missing">
          {refused}
        </p>
      )}
      {save.error && <ProblemNotice title={phrase('The reading was not saved')} error={save.error} />}
    </form>
  )
}
