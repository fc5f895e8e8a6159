import { Button, Modal } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { columnLabel, recordLabel, sentenceCase, valueText } from '#renderer/parts/record-text.ts'

/** Takes the last save back, after showing what it did. That is a save of its own, and stands in the log. */
export function UndoLast({ onUndone }: { onUndone: (said: string) => void }) {
  const client = useQueryClient()
  const measures = useMeasures()
  const [opened, setOpened] = useState(false)
  const last = useQuery(api.log.last.queryOptions())
  const undo = useMutation(
    api.log.undo.mutationOptions({
      onSuccess: async () => {
        setOpened(false)
        onUndone('Undone.')
        await client.invalidateQueries()
      },
    }),
  )
  const step = last.data
  const close = () => {
    setOpened(false)
    undo.reset()
  }
  const confirm = async (revision: number) => {
    const by = await personNow()
    if (by !== null) undo.mutate({ revision, by })
  }
  return (
    <>
      <Button variant="default" disabled={!step} onClick={() => setOpened(true)}>
        Undo last…
      </Button>
      <Modal
        opened={opened && step !== null && step !== undefined}
        onClose={close}
        title="Undo the last save"
        size="lg"
      >
        {step && (
          <div className="log-undo">
            <p>
              {step.by}, {measures.times.moment(step.at)}:
            </p>
            <ul>
              {step.entries.map((entry) => (
                <li key={entry.id}>
                  {sentenceCase(entry.subject)} <strong>{recordLabel(entry.subject, entry.key)}</strong> {entry.action}
                  {entry.fields.length > 0 &&
                    entry.action !== 'added' &&
                    `: ${entry.fields.map(({ name, old, new: now }) => `${columnLabel(entry.subject, name)} ${valueText(name, old, measures)} → ${valueText(name, now, measures)}`.trim()).join(', ')}`}
                </li>
              ))}
              {step.more > 0 && <li>and {count(step.more)} more</li>}
            </ul>
            {step.problem !== null && (
              <p role="alert">
                <strong>Cannot be undone.</strong> {step.problem}
              </p>
            )}
            {undo.isError && <ProblemNotice title="Nothing was undone" error={undo.error} />}
            <div className="record-actions">
              <Button
                data-autofocus
                disabled={step.problem !== null}
                loading={undo.isPending}
                onClick={() => void confirm(step.revision)}
              >
                Undo this
              </Button>
              <Button variant="default" onClick={close}>
                Close
              </Button>
            </div>
          </div>
        )}
      </Modal>
    </>
  )
}
