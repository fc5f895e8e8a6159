import { NativeSelect } from '@mantine/core'
import type { UnitRecord } from '#core/api/fleet-contract.ts'
import { fieldsOf } from '#core/fleet/record-fields.ts'
import { type EventKind, lineBreakingEvents } from '#core/fleet/vocabulary.ts'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import { saveRecord } from './save-record.ts'

interface Place {
  readonly value: string
  readonly label: string
  readonly parent: { readonly unitId?: number; readonly groupId?: number; readonly circuitId?: number }
  /** Groups with a line that work here would break. */
  readonly broken: readonly string[]
}

function placesOf({ unit, groups }: UnitRecord): Place[] {
  const withLine = (some: UnitRecord['groups']) =>
    some.filter(({ lines }) => lines > 0).map(({ values }) => String(values['name']))
  return [
    { value: 'unit', label: 'The whole unit', parent: { unitId: unit.id }, broken: withLine(groups) },
    ...groups.flatMap((group): Place[] => [
      {
        value: `group ${group.id}`,
        label: String(group.values['name']),
        parent: { groupId: group.id },
        broken: withLine([group]),
      },
      ...group.circuits.map(
        (circuit): Place => ({
          value: `circuit ${circuit.id}`,
          label: `${String(group.values['name'])}, circuit ${String(circuit.values['name'])}`,
          parent: { circuitId: circuit.id },
          broken: withLine([group]),
        }),
      ),
    ]),
  ]
}

function BreakNote({ values, place }: Pick<FormExtra, 'values'> & { place: Place | undefined }) {
  const kind = values['kind'] as EventKind | undefined
  if (!kind || !lineBreakingEvents.has(kind) || !place || place.broken.length === 0) return null
  return (
    <p className="record-note" role="status">
      After this work the line of {place.broken.join(' and ')} no longer holds until it is calibrated again.
    </p>
  )
}

/** Records work on the vehicle by hand. */
export function EventForm({
  record,
  onDone,
  onCancel,
}: {
  record: UnitRecord
  onDone: () => void
  onCancel: () => void
}) {
  const places = placesOf(record)
  const placeOf = (texts: Readonly<Record<string, string>>) => places.find(({ value }) => value === texts['$place'])
  return (
    <RecordForm
      fields={fieldsOf('event')}
      draftName={`event new ${record.unit.id}`}
      start={{ happened_at: new Date().toISOString() }}
      isNew
      startTexts={{ $place: 'unit' }}
      saveLabel="Record event"
      after={({ values, texts, setText }) => (
        <>
          <NativeSelect
            name="$place"
            label="Where"
            data={places.map(({ value, label }) => ({ value, label }))}
            value={texts['$place'] ?? 'unit'}
            onChange={(event) => setText('$place', event.currentTarget.value)}
          />
          <BreakNote values={values} place={placeOf(texts)} />
        </>
      )}
      onSave={(saved) =>
        saveRecord('event', null, saved, { parent: placeOf(saved.texts)?.parent ?? { unitId: record.unit.id } })
      }
      onDone={onDone}
      onCancel={onCancel}
    />
  )
}
