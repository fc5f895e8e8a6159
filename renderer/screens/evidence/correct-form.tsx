import { Textarea } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useRef } from 'react'
import type { Corrected, EvidenceView } from '#core/contracts/evidence.ts'
import { evidenceFields } from '#core/words/record-fields.ts'
import { api, client } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import { LineChanges } from './line-changes.tsx'

const reasonProblem = (texts: Readonly<Record<string, string>>): Record<string, string> =>
  (texts['$reason'] ?? '').trim() === ''
    ? { $reason: 'The reason is empty; the change log keeps why it was corrected.' }
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
        Nothing is changed yet.
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

/** Corrects a ticket or reading, with a reason; what would follow is told before. */
export function CorrectDialog({
  evidence,
  opened,
  onClose,
  onDone,
}: {
  evidence: EvidenceView
  opened: boolean
  onClose: () => void
  onDone: (outcome: Corrected) => void
}) {
  const { kind, id, key, values, places, pairs, scales } = evidence
  const outcome = useRef<Corrected | null>(null)
  return (
    <Dialog title={`Correct ${kind} ${key}`} size={720} opened={opened} onClose={onClose}>
      <RecordForm
        fields={evidenceFields(
          kind,
          places,
          scales,
          pairs.map(({ place }) => place),
        )}
        draftName={`correct ${kind} ${id}`}
        start={values}
        isNew={false}
        startTexts={{ $reason: '' }}
        saveLabel="Correct"
        check={({ texts }) => reasonProblem(texts)}
        after={(extra) => (
          <>
            <Textarea
              label="Why, for the change log"
              minRows={1}
              maxRows={5}
              maxLength={2000}
              required
              withAsterisk
              {...extra.field('$reason')}
            />
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
    </Dialog>
  )
}
