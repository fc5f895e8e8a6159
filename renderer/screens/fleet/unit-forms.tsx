import { Button, Checkbox, TextInput, Textarea } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import type { SaveRecordInput } from '#core/contracts/fleet.ts'
import type { StoredValues } from '#core/words/change.ts'
import { fieldsOf, usualGroups } from '#core/words/record-fields.ts'
import { readVin, tidyVin } from '#core/words/vin.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'
import { api, client } from '#renderer/client/api.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { count } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { type FormExtra, RecordForm, type RecordToSave } from '#renderer/parts/record-form.tsx'

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

type More = Partial<Pick<SaveRecordInput, 'parent' | 'reason' | 'workedAt' | 'usualGroups'>>

/** Saves a form's record: a new one where it has no id yet. */
export const saveRecord = (
  subject: SaveRecordInput['subject'],
  id: number | null,
  { was, values, by, times: { zone } }: RecordToSave,
  more: More = {},
) => client.fleet.save({ subject, id, was, values, by, localZone: zone, reason: null, workedAt: null, ...more })

/** What the VIN says about itself: a warning and a year to take over, never a refusal. */
function VinNote({ texts, setText, times }: FormExtra) {
  const {
    problem,
    modelYears: [year, ...others],
  } = readVin(texts['vin'] ?? '', Number(times.today().slice(0, 4)))
  if (problem !== null)
    return (
      <p className="record-note" role="status">
        <strong>VIN:</strong> {problem} It is kept as typed all the same.
      </p>
    )
  if (year === undefined || texts['model_year'] === String(year)) return null
  return (
    <p className="record-note" role="status">
      The VIN’s tenth character stands for model year {year}
      {others.length > 0 && ` (or ${others.join(', ')})`}.{' '}
      <button type="button" className="link" onClick={() => setText('model_year', String(year))}>
        Take {year}
      </button>
    </p>
  )
}

const usualText = (kind: string | undefined) =>
  (usualGroups[kind as UnitKind] ?? []).map(({ group }) => String(group['name'])).join(' and ')

interface UnitFormProps {
  /** null: a new unit. */
  readonly id: number | null
  readonly start: StoredValues
  readonly yards: readonly { readonly id: number; readonly name: string }[]
  readonly onSaved: (number: string) => void
  readonly onCancel: () => void
}

/** A unit's own facts; a new one starts with the axle groups of its kind. */
export function UnitForm({ id, start, yards, onSaved, onCancel }: UnitFormProps) {
  const isNew = id === null
  let number = String(start['number'] ?? '')
  return (
    <RecordForm
      fields={fieldsOf('unit')}
      draftName={isNew ? 'unit new' : `unit ${id}`}
      start={start}
      isNew={isNew}
      yards={yards}
      startTexts={isNew ? { $usual: 'yes' } : {}}
      saveLabel={isNew ? 'Add unit' : 'Save'}
      after={(extra) => (
        <>
          <VinNote {...extra} />
          {isNew && (
            <Checkbox
              size="xs"
              checked={extra.texts['$usual'] === 'yes'}
              onChange={(event) => extra.setText('$usual', event.currentTarget.checked ? 'yes' : 'no')}
              label={`Start with its usual axle groups${usualText(extra.texts['kind']) && `: ${usualText(extra.texts['kind'])}`}`}
            />
          )}
        </>
      )}
      onSave={async (record) => {
        const vin = record.values['vin']
        const values = typeof vin === 'string' ? { ...record.values, vin: tidyVin(vin) } : record.values
        number = String(values['number'] ?? number)
        await saveRecord('unit', id, { ...record, values }, { usualGroups: isNew && record.texts['$usual'] === 'yes' })
      }}
      onDone={() => onSaved(number)}
      onCancel={onCancel}
    />
  )
}
