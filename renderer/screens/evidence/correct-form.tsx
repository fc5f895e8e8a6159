import { Textarea } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useEffect, useRef } from 'react'
import type { Corrected, EvidenceView } from '#core/contracts/evidence.ts'
import { api, client } from '#renderer/client/api.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import type { Texts } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import { LineChanges } from './line-changes.tsx'
import { shownFields } from './shown-fields.ts'

const reasonProblem = (texts: Texts): Record<string, string> =>
  (texts['$reason'] ?? '').trim() === ''
    ? { $reason: phrase('The reason is empty; the change log keeps why it was corrected.') }
    : {}

/** What would follow, told while it is typed. */
function Preview({ evidence: { kind, id }, extra: { was, values } }: { evidence: EvidenceView; extra: FormExtra }) {
  const [changed] = useDebouncedValue(
    JSON.stringify(
      Object.fromEntries(Object.entries(values).filter(([column, value]) => value !== (was[column] ?? null))),
    ),
    250,
  )
  const nothing = changed === '{}'
  const effect = useQuery({
    ...api.evidence.correct.queryOptions({
      input: { kind, id, was, now: JSON.parse(changed) as typeof values, reason: '', by: 'preview', tryOut: true },
      enabled: !nothing,
      retry: false,
    }),
    placeholderData: keepPreviousData,
  })
  if (nothing)
    return (
      <p className="quiet" role="status">
        {phrase('Nothing is changed yet.')}
      </p>
    )
  if (effect.error)
    return (
      <p className="form-note" role="status">
        {effect.error.message}
      </p>
    )
  return <div role="status">{effect.data && <LineChanges outcome={effect.data} tense="would" />}</div>
}

/** Why most tickets and readings are corrected. */
const usualReasons = [phrase('Typed wrong'), phrase('Misread'), phrase('Taken for another unit')]

function Reason({ extra: { field, setText } }: { extra: FormExtra }) {
  return (
    <div>
      <Textarea
        label={phrase('Why, for the change log')}
        minRows={1}
        maxRows={5}
        maxLength={2000}
        required
        withAsterisk
        {...field('$reason')}
      />
      <p className="flow evidence-reasons">
        {usualReasons.map((reason) => (
          <LinkButton
            key={reason}
            about={phrase('as the reason')}
            onClick={({ currentTarget }) => {
              setText('$reason', reason)
              currentTarget.form?.querySelector<HTMLElement>('[type="submit"]')?.focus()
            }}
          >
            {reason}
          </LinkButton>
        ))}
      </p>
    </div>
  )
}

interface CorrectFormProps {
  readonly evidence: EvidenceView
  /** The column whose value was clicked. */
  readonly column: string | null
  /** What a finding offers, typed already, with its reason. */
  readonly offered: Texts | null
  readonly onClose: () => void
  readonly onDone: (outcome: Corrected) => void
}

/**
 * Corrects a ticket or reading in its own place, with a reason: what would follow is told before, and a photo of the
 * ticket stays in sight beside it.
 */
export function CorrectForm({ evidence, column, offered, onClose, onDone }: CorrectFormProps) {
  const { kind, id, values } = evidence
  const outcome = useRef<Corrected | null>(null)
  const box = useRef<HTMLDivElement>(null)
  useEffect(() => {
    // An offer needs only a yes; else the field that was clicked waits for its value.
    const target =
      offered !== null
        ? box.current?.querySelector<HTMLElement>('[type="submit"]')
        : [...(box.current?.querySelectorAll<HTMLInputElement>('input, select') ?? [])].find(({ name }, place) =>
            column === null ? place === 0 : name === column,
          )
    target?.focus()
    if (target instanceof HTMLInputElement) target.select()
  }, [column, offered])
  return (
    <div ref={box}>
      <RecordForm
        fields={shownFields(evidence)}
        draftName={`correct ${kind} ${id}${offered === null ? '' : ` ${Object.values(offered).join(' ')}`}`.slice(
          0,
          280,
        )}
        start={values}
        offered={offered ?? {}}
        isNew={false}
        startTexts={{ $reason: '' }}
        saveLabel={phrase('Correct')}
        cancelLabel={phrase('Cancel')}
        check={({ texts }) => reasonProblem(texts)}
        after={(extra) => (
          <>
            <Reason extra={extra} />
            <Preview evidence={evidence} extra={extra} />
          </>
        )}
        onSave={async ({ was, values: now, texts, by }) => {
          outcome.current = await client.evidence.correct({
            kind,
            id,
            was,
            now,
            reason: (texts['$reason'] ?? '').trim(),
            by,
            tryOut: false,
          })
        }}
        onDone={() => {
          if (outcome.current) onDone(outcome.current)
          onClose()
        }}
        onCancel={onClose}
      />
    </div>
  )
}
