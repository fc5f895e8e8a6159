import { TextInput } from '@mantine/core'
import { lineBreakingWork } from '#core/fleet/line-break.ts'
import type { TypedSubject } from '#core/fleet/record-fields.ts'
import type { FormExtra } from '#renderer/parts/record-form.tsx'
import { localText } from '#renderer/parts/record-text.ts'

/** Texts of the question before anything is typed. */
export const workTexts = (): Record<string, string> => ({
  $work: 'work',
  $workedAt: localText(new Date().toISOString()),
  $reason: '',
})

const workOf = (subject: TypedSubject, { was, values }: Pick<FormExtra, 'was' | 'values'>) =>
  lineBreakingWork(subject, was, values)

/** Sentences for the question's fields, while it is asked. */
export function workProblems(
  subject: TypedSubject,
  typed: Pick<FormExtra, 'was' | 'values' | 'texts'>,
): Record<string, string> {
  if (workOf(subject, typed) === null || typed.texts['$work'] !== 'work') return {}
  const at = new Date(typed.texts['$workedAt'] ?? '')
  if (Number.isNaN(at.getTime()))
    return { $workedAt: 'The time of the work is empty; a date and time up to now is needed.' }
  return at.getTime() > Date.now() + 600_000 ? { $workedAt: 'The work lies ahead; a time up to now is accepted.' } : {}
}

/** What is saved of the question: when the vehicle was worked on, or null where the record was wrong. */
export function workAnswer(
  subject: TypedSubject,
  typed: Pick<FormExtra, 'was' | 'values' | 'texts'>,
): { workedAt: string | null; reason: string | null } {
  const reason = typed.texts['$reason']?.trim() || null
  const worked = workOf(subject, typed) !== null && typed.texts['$work'] === 'work'
  return { workedAt: worked ? new Date(typed.texts['$workedAt'] ?? '').toISOString() : null, reason }
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
  const { texts, setText, problems } = extra
  return (
    <fieldset className="record-note">
      <legend>Was the vehicle worked on?</legend>
      <label className="record-choice">
        <input
          type="radio"
          name="$work"
          checked={texts['$work'] === 'work'}
          onChange={() => setText('$work', 'work')}
        />{' '}
        Yes: saving records <strong>{kind}</strong> on {place}
        {lines > 0 ? ', and its line no longer holds until it is calibrated again.' : '.'}
      </label>
      <label className="record-choice">
        <input
          type="radio"
          name="$work"
          checked={texts['$work'] === 'record'}
          onChange={() => setText('$work', 'record')}
        />{' '}
        No, the record was wrong: no work is recorded, and the line stays.
      </label>
      <div className="record-fields">
        {texts['$work'] === 'work' && (
          <TextInput
            name="$workedAt"
            type="datetime-local"
            label="When the work was done"
            value={texts['$workedAt'] ?? ''}
            error={problems['$workedAt']}
            onChange={(event) => setText('$workedAt', event.currentTarget.value)}
          />
        )}
        <TextInput
          name="$reason"
          label="Why, for the change log"
          value={texts['$reason'] ?? ''}
          maxLength={2000}
          onChange={(event) => setText('$reason', event.currentTarget.value)}
        />
      </div>
    </fieldset>
  )
}
