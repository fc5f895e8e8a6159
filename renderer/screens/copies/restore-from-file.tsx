import { Button, TextInput } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { fileName } from './copy-words.ts'
import type { Done } from './restore-dialog.tsx'

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
