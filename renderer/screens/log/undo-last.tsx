import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { LogEntry, LogLast } from '#core/contracts/log.ts'
import { api, client } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { changedText, columnLabel, recordLabel, sentenceCase } from '#renderer/parts/record-text.ts'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** Takes the last save back, after showing what it did. That is a save of its own, and stands in the log. */
export function UndoLast({ onUndone }: { onUndone: (said: string) => void }) {
  const measures = useMeasures()
  const last = useQuery(api.log.last.queryOptions()).data
  /** The step that is shown: once it is undone there is another last one. */
  const [step, setStep] = useState<LogLast>(null)
  const undo = useSaving(
    (revision: number, by) => client.log.undo({ revision, by }),
    () => {
      setStep(null)
      onUndone(phrase('Undone.'))
    },
  )
  const changesOf = (entry: LogEntry) => {
    const { subject, action, fields } = entry
    if (fields.length === 0 || action === 'added') return ''
    const texts = fields.map(({ name, old, new: now }) =>
      `${columnLabel(subject, name)} ${changedText(entry, name, old, measures)} → ${changedText(entry, name, now, measures)}`.trim(),
    )
    return `: ${texts.join(', ')}`
  }
  const close = () => {
    setStep(null)
    undo.reset()
  }
  return (
    <>
      <Button disabled={!last} onClick={() => setStep(last ?? null)}>
        {phrase('Undo last…')}
      </Button>
      <Dialog opened={step !== null} onClose={close} title={phrase('Undo the last save')} size="lg">
        {step && (
          <>
            <p>
              {step.by}, {measures.times.moment(step.at)}:
            </p>
            <ul className="log-undo">
              {step.entries.map((entry) => (
                <li key={entry.id}>
                  {sentenceCase(wordOf(entry.subject))}{' '}
                  <strong>{recordLabel(entry.subject, entry.key, measures)}</strong> {entry.action}
                  {changesOf(entry)}
                </li>
              ))}
              {step.more > 0 && <li>{phrase('and {more} more', { more: count(step.more) })}</li>}
            </ul>
            {step.problem !== null && (
              <p role="alert">
                <strong>{phrase('Cannot be undone.')}</strong> {step.problem}
              </p>
            )}
            {undo.error && <ProblemNotice title={phrase('Nothing was undone')} error={undo.error} />}
            <div className="flow">
              <Button
                variant="filled"
                data-autofocus
                disabled={step.problem !== null}
                loading={undo.isPending}
                onClick={() => void undo.send(step.revision)}
              >
                {phrase('Undo this')}
              </Button>
              <Button onClick={close}>{phrase('Close')}</Button>
            </div>
          </>
        )}
      </Dialog>
    </>
  )
}
