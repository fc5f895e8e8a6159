import { Button, Textarea } from '@mantine/core'
import { isDefinedError } from '@orpc/client'
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

interface TypedNote {
  readonly text: string
  /** The note that stood there when typing began. */
  readonly was: string | null
}

/** Another window has saved a note since this one was begun: neither is lost. */
function Meanwhile({ stored, onKeep, onTake }: { stored: string | null; onKeep: () => void; onTake: () => void }) {
  return (
    <div className="heavy-meanwhile" role="alert">
      <p>{stored === null ? 'The note was taken away meanwhile.' : <>Meanwhile this was saved: “{stored}”</>}</p>
      <button type="button" className="link" onClick={onKeep}>
        Keep mine instead
      </button>
      <button type="button" className="link" onClick={onTake}>
        Give mine up
      </button>
    </div>
  )
}

/** What the driver says about a weighing; it stands with the ticket or the reading, for every limit that it broke. */
export function DriverNote({
  entry,
  field,
  onLeave,
}: {
  entry: HeavyEntry
  field: RefObject<HTMLTextAreaElement | null>
  onLeave: () => void
}) {
  const client = useQueryClient()
  const { note: stored, noteOn, reading, scale, ticket } = entry
  const draft = useDraft<TypedNote>(`heavy-note ${recordKey(entry)}`, { text: stored ?? '', was: stored })
  const save = useMutation(
    api.heavy.note.mutationOptions({
      onSuccess: async () => {
        // The rows on screen carry the note: they are asked for first, so that the field never shows the old one in
        // between.
        await client.invalidateQueries()
        draft.clear()
        onLeave()
      },
      // The conflict shows itself once the newer note is there.
      onError: (error) => {
        if (isDefinedError(error) && error.code === 'CONFLICT')
          void client.invalidateQueries({ queryKey: api.heavy.key() })
      },
    }),
  )
  const { text, was } = draft.value
  const changed = draft.typed && text.trim() !== (stored ?? '')
  const overtaken = changed && was !== stored && !save.isPending
  const letters = text.trim().length
  const refused = letters > mostLetters ? `The note has ${letters} letters; ${mostLetters} at most are kept.` : null
  const submit = async () => {
    if (!changed || overtaken || refused !== null || save.isPending) return
    const by = await personNow()
    const record =
      noteOn === 'reading' ? { reading: reading as string } : { scale: scale as string, ticket: ticket as string }
    if (by !== null) save.mutate({ record, was, note: text.trim(), by })
  }
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === 'Escape') onLeave()
    else if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) void submit()
    else return
    event.preventDefault()
  }
  return (
    <form
      className="heavy-note"
      onSubmit={(event) => {
        event.preventDefault()
        void submit()
      }}
      noValidate
    >
      <DraftNote draft={draft} />
      <Textarea
        ref={field}
        label="Driver’s note"
        description="Enter in the list comes here, Ctrl Enter saves, Esc goes back"
        size="xs"
        autosize
        minRows={2}
        maxRows={6}
        value={text}
        error={refused}
        errorProps={{ role: 'alert' }}
        onChange={(event) => draft.set({ text: event.currentTarget.value, was: draft.typed ? was : stored })}
        onKeyDown={onKeyDown}
      />
      {overtaken ? (
        <Meanwhile stored={stored} onKeep={() => draft.set({ text, was: stored })} onTake={draft.clear} />
      ) : (
        changed && (
          <div className="heavy-note-actions">
            <Button type="submit" loading={save.isPending}>
              Save note
            </Button>
            <button type="button" className="link" onClick={draft.clear}>
              Undo
            </button>
          </div>
        )
      )}
      {save.isError && !(isDefinedError(save.error) && save.error.code === 'CONFLICT') && (
        <ProblemNotice title="The note was not saved" error={save.error} />
      )}
    </form>
  )
}
