import { useState } from 'react'
import { TextInput, Textarea } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import type { SaveRecordInput } from '#core/contracts/fleet.ts'
import type { StoredValues } from '#core/words/change.ts'
import { fieldsOf } from '#core/words/record-fields.ts'
import { tidyVin } from '#core/words/vin.ts'
import { api, client } from '#renderer/client/api.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { count } from '#renderer/parts/format.ts'
import { RecordForm, type RecordToSave } from '#renderer/parts/record-form.tsx'
import { type Problems, SaveForm, useSaveForm } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import { VinNote } from './vin-note.tsx'

const most = 50
const numbersIn = (text: string) =>
  text
    .split(/[\n,;]+/)
    .map((number) => number.trim())
    .filter(Boolean)

/** Why these numbers cannot be added, as a sentence; null when they can. */
function numbersProblem(numbers: readonly string[]): string | null {
  if (numbers.length === 0) return phrase('No number is given; 1 to {most} are accepted.', { most })
  if (numbers.length > most)
    return phrase('{numbers} numbers are given; 1 to {most} are accepted.', { numbers: count(numbers.length), most })
  const twice = numbers.find((number, at) => numbers.indexOf(number) !== at)
  return twice === undefined ? null : phrase('{twice} stands there twice.', { twice })
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
  const start = { count: '10', numbers: '' }
  const draft = useDraft(`copy ${unit}`, start)
  const wanted = Number(draft.value.count)
  const next = useQuery(
    api.fleet.nextNumbers.queryOptions({
      input: { unit, count: wanted },
      enabled: Number.isInteger(wanted) && wanted >= 1 && wanted <= most,
    }),
  )
  /** As typed, or as they count on. */
  const numbersOf = (typed: string) => typed || (next.data ?? []).join('\n')
  const form = useSaveForm({
    start,
    draft,
    check: (typed): Problems => {
      const problem = numbersProblem(numbersIn(numbersOf(typed.numbers)))
      return problem === null ? {} : { numbers: problem }
    },
    save: (typed, by) => client.fleet.copyUnit({ unit, numbers: numbersIn(numbersOf(typed.numbers)), by }),
    onSaved: ({ added }) => {
      draft.clear()
      onDone(added)
    },
  })
  const text = numbersOf(form.values.numbers)
  const { length } = numbersIn(text)
  return (
    <SaveForm
      form={form}
      saveLabel={phrase('Add {length, plural, one {# unit} other {# units}}', { length })}
      failed={phrase('Nothing was added')}
      onCancel={onCancel}
    >
      <p>
        {phrase(
          'Each new unit gets the facts, axle groups and circuits of {unit}; VIN, plate and sensors are its own and stay empty.',
          { unit },
        )}
      </p>
      <div className="form-fields">
        <TextInput
          label={phrase('How many')}
          inputMode="numeric"
          data-autofocus
          {...form.field('count')}
          onChange={(event) => {
            form.type('count', event.currentTarget.value)
            form.type('numbers', '')
          }}
        />
      </div>
      <Textarea
        label={phrase('Their numbers, one a line')}
        minRows={3}
        maxRows={12}
        {...form.field('numbers')}
        value={text}
      />
    </SaveForm>
  )
}

/** Takes a unit out of service, or back into it. Its record stays whole. */
export function RetireForm({
  unit,
  retired: isRetired,
  onDone,
  onCancel,
}: {
  unit: string
  retired: boolean
  /** Told whether the unit is retired now. */
  onDone: (retired: boolean) => void
  onCancel: () => void
}) {
  // As it was when the form opened: what it saves is on the screen before it is done.
  const [retired] = useState(isRetired)
  const form = useSaveForm({
    start: { reason: '' },
    save: ({ reason }, by) => client.fleet.retire({ unit, retired: !retired, reason: reason.trim() || null, by }),
    onSaved: () => onDone(!retired),
  })
  return (
    <SaveForm form={form} saveLabel={retired ? phrase('Bring back') : phrase('Retire')} onCancel={onCancel}>
      <p>
        {retired
          ? phrase('{unit} counts again in every plan and list.', { unit })
          : phrase('{unit} is out of the shop’s plans; its record stays and it can be brought back.', { unit })}
      </p>
      <TextInput label={phrase('Why, for the change log')} data-autofocus maxLength={2000} {...form.field('reason')} />
    </SaveForm>
  )
}

type More = Partial<Pick<SaveRecordInput, 'parent' | 'reason' | 'workedAt'>>

/** Saves a form's record: a new one where it has no id yet. */
export const saveRecord = (
  subject: SaveRecordInput['subject'],
  id: number | null,
  { was, values, by, times: { zone } }: RecordToSave,
  more: More = {},
) => client.fleet.save({ subject, id, was, values, by, localZone: zone, reason: null, workedAt: null, ...more })

interface UnitFormProps {
  readonly id: number
  readonly start: StoredValues
  readonly yards: readonly { readonly id: number; readonly name: string }[]
  readonly onSaved: (number: string) => void
  readonly onCancel: () => void
}

/** A unit's own facts. */
export function UnitForm({ id, start, yards, onSaved, onCancel }: UnitFormProps) {
  return (
    <RecordForm
      fields={fieldsOf('unit')}
      draftName={`unit ${id}`}
      start={start}
      isNew={false}
      yards={yards}
      saveLabel={phrase('Save')}
      after={(extra) => <VinNote {...extra} />}
      onSave={async (record) => {
        const vin = record.values['vin']
        const values = typeof vin === 'string' ? { ...record.values, vin: tidyVin(vin) } : record.values
        await saveRecord('unit', id, { ...record, values })
      }}
      onDone={({ number }) => onSaved(String(number ?? ''))}
      onCancel={onCancel}
    />
  )
}
