import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { SavedMapping } from '#core/contracts/foreign.ts'
import type { ForeignMapping } from '#core/foreign/mapping/mapping.ts'
import { api, client } from '#renderer/client/api.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'

interface SavedMappingsProps {
  readonly mapping: ForeignMapping
  /** The saved mapping that is worked on. */
  readonly savedId: number | null
  /** Names of those that fit the file. */
  readonly fits: readonly string[]
  /** null: guess anew. */
  readonly onChoose: (saved: SavedMapping | null) => void
}

/** Saved mappings: chosen, saved, renamed and removed by name. */
export function SavedMappings({ mapping, savedId, fits, onChoose }: SavedMappingsProps) {
  const list = useQuery(api.foreign.mappings.queryOptions())
  const saved = list.data?.find(({ id }) => id === savedId)
  const [typed, setTyped] = useState<{ id: number | null; name: string } | null>(null)
  const name = typed !== null && typed.id === savedId ? typed.name : (saved?.name ?? '')
  const [said, setSaid] = useState('')
  const after = (words: string, chosen: SavedMapping | null) => {
    onChoose(chosen)
    setTyped(null)
    setSaid(words)
  }
  const save = useSaving(
    (id: number | null, by) => client.foreign.saveMapping({ id, name: name.trim(), mapping, by }),
    (kept) => after(`Saved as ${kept.name}.`, kept),
  )
  const remove = useSaving(
    ({ id }: SavedMapping, by) => client.foreign.removeMapping({ id, by }),
    (_, { name: removed }) => after(`${removed} is removed. The change log can undo that.`, null),
  )
  const failed = save.error ?? remove.error
  const label = ({ name: each }: SavedMapping) => (fits.includes(each) ? `${each} (fits this file)` : each)
  return (
    <section className="foreign-saved" aria-label="Saved mappings">
      <NativeSelect
        label="Mapping"
        value={saved === undefined ? '' : String(saved.id)}
        data={[
          { value: '', label: 'guessed from the file' },
          ...(list.data ?? []).map((each) => ({ value: String(each.id), label: label(each) })),
        ]}
        onChange={(event) => onChoose(list.data?.find(({ id }) => String(id) === event.currentTarget.value) ?? null)}
      />
      <TextInput
        label="Name"
        placeholder="Such as Bridge tickets"
        maxLength={200}
        value={name}
        onChange={(event) => setTyped({ id: savedId, name: event.currentTarget.value })}
      />
      <div className="foreign-saved-actions">
        {saved ? (
          <>
            <Button
              variant="default"
              loading={save.isPending}
              disabled={
                name.trim() === '' ||
                (name.trim() === saved.name && JSON.stringify(saved.mapping) === JSON.stringify(mapping))
              }
              onClick={() => void save.send(saved.id)}
            >
              Save changes
            </Button>
            <Button
              variant="default"
              disabled={name.trim() === '' || name.trim() === saved.name}
              onClick={() => void save.send(null)}
            >
              Save as another
            </Button>
            <Button variant="default" loading={remove.isPending} onClick={() => void remove.send(saved)}>
              Remove
            </Button>
          </>
        ) : (
          <Button
            variant="default"
            loading={save.isPending}
            disabled={name.trim() === ''}
            onClick={() => void save.send(null)}
          >
            Save mapping
          </Button>
        )}
        <output className="quiet">{said}</output>
      </div>
      {failed && <ProblemNotice title="The mapping was not saved" error={failed} />}
    </section>
  )
}
