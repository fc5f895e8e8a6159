import { Button, Textarea } from '@mantine/core'
import { useMutation, useQueryClient } from '@tanstack/react-query'
import type { KeyboardEvent, RefObject } from 'react'
import type { HeavyEntry } from '#core/api/heavy-contract.ts'
import { api } from '#renderer/client/api.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { DraftNote } from '#renderer/parts/draft-note.tsx'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { recordKey } from './heavy-words.ts'

const mostLetters = 2000

/** What the driver says about a weighing; it stands with the ticket or the reading, for every limit that it broke. */
export function DriverNote({ entry, field, onLeave }: { entry: HeavyEntry; field: RefObject<HTMLTextAreaElement | null>; onLeave: () => void }) {
  const client = useQueryClient()
  const stored = entry.note ?? ''
  const draft = useDraft(`heavy-note ${recordKey(entry)}`, stored)
  const save = useMutation(api.heavy.note.mutationOptions({
    onSuccess: async () => {
      // The rows on screen carry the note: they are asked for first, so that the field never shows the old one in between.
      await client.invalidateQueries()
      draft.clear()
      onLeave()
    },
  }))
  const changed = draft.typed && draft.value.trim() !== stored
  const letters = draft.value.trim().length
  const refused = letters > mostLetters ? `The note has ${letters} letters; ${mostLetters} at most are kept.` : null
  const submit = async () => {
    if (!changed || refused !== null || save.isPending) return
    const by = await personNow()
    const { noteOn, reading, scale, ticket } = entry
    const record = noteOn === 'reading' ? { reading: reading as string } : { scale: scale as string, ticket: ticket as string }
    if (by !== null) save.mutate({ record, note: draft.value.trim(), by })
  }
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === 'Escape') onLeave()
    else if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) void submit()
    else return
    event.preventDefault()
  }
  return (
    <form className="heavy-note" onSubmit={(event) => { event.preventDefault(); void submit() }} noValidate>
      <DraftNote draft={draft} />
      <Textarea
        ref={field} label="Driver’s note" description="Enter in the list comes here, Ctrl Enter saves, Esc goes back" size="xs" autosize minRows={2} maxRows={6}
        value={draft.value} error={refused} errorProps={{ role: 'alert' }} onChange={(event) => draft.set(event.currentTarget.value)} onKeyDown={onKeyDown}
      />
      {changed && (
        <div className="heavy-note-actions">
          <Button type="submit" loading={save.isPending}>Save note</Button>
          <button type="button" className="link" onClick={draft.clear}>Undo</button>
        </div>
      )}
      {save.isError && <ProblemNotice title="The note was not saved" error={save.error} />}
    </form>
  )
}
