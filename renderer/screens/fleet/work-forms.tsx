import { NativeSelect, TextInput } from '@mantine/core'
import type { ReactNode } from 'react'
import type { UnitRecord } from '#core/contracts/fleet.ts'
import { liesAhead } from '#core/words/instant.ts'
import { type TypedSubject, fieldsOf, lineBreakingWork } from '#core/words/record-fields.ts'
import { type EventKind, lineBreakingEvents } from '#core/words/vocabulary.ts'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { saveRecord } from './unit-forms.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'
import type { Times } from '#renderer/parts/times.ts'

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
    { value: 'unit', label: phrase('The whole unit'), parent: { unitId: unit.id }, broken: withLine(groups) },
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
          label: phrase('{group}, circuit {circuit}', {
            group: String(group.values['name']),
            circuit: String(circuit.values['name']),
          }),
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
    <p className="form-note" role="status">
      {phrase('After this work the line of {broken} no longer holds until it is calibrated again.', {
        broken: place.broken.join(phrase(' and ')),
      })}
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
      saveLabel={phrase('Record event')}
      after={({ values, texts, field }) => (
        <>
          <NativeSelect
            label={phrase('Where')}
            data={places.map(({ value, label }) => ({ value, label }))}
            {...field('$place')}
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

/** Texts of the question before anything is typed. */
export const workTexts = (times: Times): Record<string, string> => ({
  $work: 'work',
  $workedAt: times.typed(new Date().toISOString()),
  $reason: '',
})

const workOf = (subject: TypedSubject, { was, values }: Pick<FormExtra, 'was' | 'values'>) =>
  lineBreakingWork(subject, was, values)

/** Sentences for the question's fields, while it is asked. */
export function workProblems(
  subject: TypedSubject,
  typed: Pick<FormExtra, 'was' | 'values' | 'texts' | 'times'>,
): Record<string, string> {
  if (workOf(subject, typed) === null || typed.texts['$work'] !== 'work') return {}
  const text = typed.texts['$workedAt'] ?? ''
  if (text === '') return { $workedAt: phrase('The time of the work is empty; a date and time up to now is needed.') }
  const at = typed.times.read(text)
  if (!at.ok) return { $workedAt: at.message }
  return liesAhead(Date.parse(at.value), Date.now())
    ? { $workedAt: phrase('The work lies ahead; a time up to now is accepted.') }
    : {}
}

/** What is saved of the question: when the vehicle was worked on, or null where the record was wrong. */
export function workAnswer(
  subject: TypedSubject,
  typed: Pick<FormExtra, 'was' | 'values' | 'texts' | 'times'>,
): { workedAt: string | null; reason: string | null } {
  const reason = typed.texts['$reason']?.trim() || null
  const worked = workOf(subject, typed) !== null && typed.texts['$work'] === 'work'
  const at = typed.times.read(typed.texts['$workedAt'] ?? '')
  return { workedAt: worked && at.ok ? at.value : null, reason }
}

/** Says, before it is saved, that a change tells of work on the vehicle and what that does to the line. */
export function WorkNote({
  subject,
  place,
  lines,
  extra,
}: {
  subject: TypedSubject
  place: string
  lines: number
  extra: FormExtra
}) {
  const kind = workOf(subject, extra)
  if (kind === null) return null
  const { texts, setText, field } = extra
  const choice = (value: 'work' | 'record', words: ReactNode) => (
    <label className="form-choice">
      <input type="radio" name="$work" checked={texts['$work'] === value} onChange={() => setText('$work', value)} />
      <span> {words}</span>
    </label>
  )
  return (
    <fieldset className="form-note">
      <legend>{phrase('Was the vehicle worked on?')}</legend>
      {choice(
        'work',
        <Phrase
          text="Yes: saving records <strong>{kind}</strong> on {place}{lines}"
          with={{
            strong: (words) => <strong>{words}</strong>,
            kind: word(kind),
            place,
            lines: lines > 0 ? phrase(', and its line no longer holds until it is calibrated again.') : '.',
          }}
        />,
      )}
      {choice('record', phrase('No, the record was wrong: no work is recorded, and the line stays.'))}
      <div className="form-fields">
        {texts['$work'] === 'work' && <TimeField label={phrase('When the work was done')} {...field('$workedAt')} />}
        <TextInput label={phrase('Why, for the change log')} maxLength={2000} {...field('$reason')} />
      </div>
    </fieldset>
  )
}
