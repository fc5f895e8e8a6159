import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { CopiesList, CopyRow } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { PathForm } from '#renderer/parts/source-chooser.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { columnsFor, fileName, reasonWords } from './copy-checks.ts'

export interface Done {
  readonly copy: string
  readonly keptAs: string | null
  readonly missingAttachments: number
}

/** What becomes of what is there now, as a sentence. */
function fateOf({ file, trouble }: CopiesList): string {
  const name = fileName(file)
  if (trouble?.code === 'lost')
    return phrase('Nothing of {name} is overwritten: whatever still lies under its name is set aside beside it.', {
      name,
    })
  return trouble
    ? phrase('The damaged {name} is set aside beside it under another name, byte for byte.', { name })
    : phrase('{name} as it is now becomes a copy itself, “Before a restore”: you can go back to it.', { name })
}

function RestoreForm({
  list,
  copy,
  onDone,
  onCancel,
}: {
  list: CopiesList
  copy: CopyRow
  onDone: (done: Done) => void
  onCancel: () => void
}) {
  const { times } = useMeasures()
  const restore = useMutation(
    api.copies.restore.mutationOptions({
      onSuccess: ({ keptAs, missingAttachments }) => {
        onDone({ copy: times.moment(copy.madeAt), keptAs, missingAttachments })
      },
    }),
  )
  const { now } = list
  return (
    <div className="stack restore">
      <SheetTable
        caption={phrase('What is in the copy{now}', { now: now ? phrase(', beside the open file') : '' })}
        rows={columnsFor([copy]).map(({ label, text }) => ({
          label,
          is: now && text(now, times),
          will: text(copy, times),
        }))}
        keyOf={({ label }) => label}
        mark={({ is, will }) => ({ 'data-differs': (is !== null && is !== will) || undefined })}
        columns={[
          [phrase('Record'), ({ label }) => label],
          now !== null && [phrase('Now'), ({ is }) => is, 'figure'],
          [phrase('In this copy'), ({ will }) => will, 'figure'],
        ]}
      />
      <p>
        {now && phrase('What was entered since the copy was made is not in it. ')}
        {fateOf(list)}
      </p>
      {restore.isError && <ProblemNotice title={phrase('The copy was not restored')} error={restore.error} />}
      <div className="flow">
        <Button
          variant="filled"
          data-autofocus
          loading={restore.isPending}
          onClick={() => restore.mutate({ name: copy.name })}
        >
          {phrase('Restore this copy')}
        </Button>
        <Button onClick={onCancel}>{phrase('Cancel')}</Button>
      </div>
    </div>
  )
}

/**
 * Asks once before a copy takes the place of the fleet file: what is in it, and what becomes of what is there. Whoever
 * shows it sees to the focus afterwards.
 */
export function RestoreDialog({
  list,
  copy,
  onDone,
  onClose,
}: {
  list: CopiesList
  copy: CopyRow | null
  onDone: (done: Done) => void
  onClose: () => void
}) {
  const { times } = useMeasures()
  return (
    <Dialog
      opened={copy !== null}
      onClose={onClose}
      size="lg"
      returnFocus={false}
      title={
        copy
          ? phrase('Restore the copy of {madeAt} ({reasonWords})', {
              madeAt: times.moment(copy.madeAt),
              reasonWords: reasonWords[copy.reason].toLowerCase(),
            })
          : ''
      }
    >
      {copy && <RestoreForm list={list} copy={copy} onDone={onDone} onCancel={onClose} />}
    </Dialog>
  )
}

/** Restores a copy that lies elsewhere, as on a memory stick. */
export function RestoreFromFile({
  secondFolder,
  onDone,
}: {
  secondFolder: string | null
  onDone: (done: Done) => void
}) {
  /** Each one that is restored leaves an empty field. */
  const [restored, setRestored] = useState(0)
  const restore = useMutation(
    api.copies.restore.mutationOptions({
      onSuccess: ({ keptAs, missingAttachments }, asked) => {
        onDone({ copy: 'path' in asked ? fileName(asked.path) : asked.name, keptAs, missingAttachments })
        setRestored(restored + 1)
      },
    }),
  )
  return (
    <Section className="section" title={phrase('A copy on another disk')}>
      <p>
        {phrase(
          'It is read through first, and takes the place of the fleet file only if it is whole. What is there now is kept as above.',
        )}
        {secondFolder !== null && (
          <>
            {' '}
            <Phrase
              text="The newest copies were brought to <span>{secondFolder}</span> as well."
              with={{ span: (words) => <span className="copies-folder">{words}</span>, secondFolder }}
            />
          </>
        )}
      </p>
      <PathForm
        key={restored}
        label={phrase('Copy on this computer')}
        placeholder={phrase('Full path of the copy')}
        action={phrase('Restore it')}
        busy={restore.isPending}
        onPath={(path) => restore.mutate({ path })}
      />
      {restore.isError && <ProblemNotice title={phrase('The copy was not restored')} error={restore.error} />}
    </Section>
  )
}
