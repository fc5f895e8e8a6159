import { Button, Modal, TextInput } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import type { CopiesList, CopyRow } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
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
    return `Nothing of ${name} is overwritten: whatever still lies under its name is set aside beside it.`
  return trouble
    ? `The damaged ${name} is set aside beside it under another name, byte for byte.`
    : `${name} as it is now becomes a copy itself, “Before a restore”: you can go back to it.`
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
  const client = useQueryClient()
  const restore = useMutation(
    api.copies.restore.mutationOptions({
      onSuccess: ({ keptAs, missingAttachments }) => {
        onDone({ copy: times.moment(copy.madeAt), keptAs, missingAttachments })
        return client.invalidateQueries()
      },
    }),
  )
  const { now } = list
  return (
    <div className="restore">
      <table className="sheet-table">
        <caption className="unheard">What is in the copy{now && ', beside the open file'}</caption>
        <thead>
          <tr>
            <th scope="col">Record</th>
            {now && (
              <th scope="col" className="figure">
                Now
              </th>
            )}
            <th scope="col" className="figure">
              In this copy
            </th>
          </tr>
        </thead>
        <tbody>
          {columnsFor([copy]).map(({ label, text }) => {
            const [is, will] = [now && text(now, times), text(copy, times)]
            return (
              <tr key={label} data-differs={is !== null && is !== will}>
                <th scope="row">{label}</th>
                {now && <td className="figure">{is}</td>}
                <td className="figure">{will}</td>
              </tr>
            )
          })}
        </tbody>
      </table>
      <p>
        {now && 'What was entered since the copy was made is not in it. '}
        {fateOf(list)}
      </p>
      {restore.isError && <ProblemNotice title="The copy was not restored" error={restore.error} />}
      <div className="restore-actions">
        <Button data-autofocus loading={restore.isPending} onClick={() => restore.mutate({ name: copy.name })}>
          Restore this copy
        </Button>
        <Button variant="default" onClick={onCancel}>
          Cancel
        </Button>
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
    <Modal
      opened={copy !== null}
      onClose={onClose}
      size="lg"
      returnFocus={false}
      title={copy ? `Restore the copy of ${times.moment(copy.madeAt)} (${reasonWords[copy.reason].toLowerCase()})` : ''}
    >
      {copy && <RestoreForm list={list} copy={copy} onDone={onDone} onCancel={onClose} />}
    </Modal>
  )
}

/** Restores a copy that lies elsewhere, as on a memory stick. */
export function RestoreFromFile({ onDone }: { onDone: (done: Done) => void }) {
  const client = useQueryClient()
  const [path, setPath] = useState('')
  const restore = useMutation(
    api.copies.restore.mutationOptions({
      onSuccess: ({ keptAs, missingAttachments }) => {
        onDone({ copy: fileName(path), keptAs, missingAttachments })
        setPath('')
        return client.invalidateQueries()
      },
    }),
  )
  return (
    <section className="copies-section" aria-labelledby="from-file-title">
      <h2 id="from-file-title">A copy on another disk</h2>
      <p>
        It is read through first, and takes the place of the fleet file only if it is whole. What is there now is kept
        as above.
      </p>
      <form
        className="copies-path"
        onSubmit={(event) => {
          event.preventDefault()
          if (path.trim()) restore.mutate({ path: path.trim() })
        }}
      >
        <TextInput
          label="Copy on this computer"
          placeholder="Full path of the copy"
          value={path}
          onChange={(event) => setPath(event.currentTarget.value)}
        />
        <Button type="submit" variant="default" disabled={!path.trim()} loading={restore.isPending}>
          Restore it
        </Button>
      </form>
      {restore.isError && <ProblemNotice title="The copy was not restored" error={restore.error} />}
    </section>
  )
}
