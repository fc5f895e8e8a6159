import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useRef, useState } from 'react'
import type { SavedMapping } from '#core/contracts/foreign.ts'
import type { ForeignMapping } from '#core/foreign/mapping/mapping.ts'
import { api, client } from '#renderer/client/api.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaveForm, useSaving } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'

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
  /** Whether it is saved beside the one that is worked on. */
  const another = useRef(false)
  const form = useSaveForm({
    start: { name: saved?.name ?? '' },
    draft: {
      value: { name },
      typed: typed !== null,
      restored: false,
      set: (texts) => setTyped({ id: savedId, name: texts.name }),
      clear: () => setTyped(null),
    },
    save: (texts, by) => {
      const id = another.current ? null : (saved?.id ?? null)
      return client.foreign.saveMapping({ id, name: texts.name.trim(), mapping, by })
    },
    onSaved: (kept) => after(phrase('Saved as {name}.', { name: kept.name }), kept),
  })
  const save = (beside: boolean) => {
    another.current = beside
    form.submit()
  }
  const remove = useSaving(
    ({ id }: SavedMapping, by) => client.foreign.removeMapping({ id, by }),
    (_, { name: removed }) => after(phrase('{removed} is removed. The change log can undo that.', { removed }), null),
  )
  const failed = form.failure ?? remove.error
  const isEmpty = name.trim() === ''
  const isSame = name.trim() === saved?.name
  return (
    <form
      ref={form.element}
      className="foreign-saved"
      aria-label={phrase('Saved mappings')}
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        save(false)
      }}
    >
      <NativeSelect
        label={phrase('Mapping')}
        value={saved === undefined ? '' : String(saved.id)}
        data={[
          { value: '', label: phrase('guessed from the file') },
          ...(list.data ?? []).map(({ id, name: each }) => ({
            value: String(id),
            label: fits.includes(each) ? phrase('{each} (fits this file)', { each }) : each,
          })),
        ]}
        onChange={(event) => onChoose(list.data?.find(({ id }) => String(id) === event.currentTarget.value) ?? null)}
      />
      <TextInput
        label={phrase('Name')}
        placeholder={phrase('Such as Bridge tickets')}
        maxLength={200}
        {...form.field('name')}
      />
      <div className="flow foreign-saved-actions">
        <Button
          type="submit"
          loading={form.isPending}
          disabled={isEmpty || (isSame && JSON.stringify(saved?.mapping) === JSON.stringify(mapping))}
        >
          {saved ? phrase('Save changes') : phrase('Save mapping')}
        </Button>
        {saved && (
          <>
            <Button disabled={isEmpty || isSame} onClick={() => save(true)}>
              {phrase('Save as another')}
            </Button>
            <Button loading={remove.isPending} onClick={() => void remove.send(saved)}>
              {phrase('Remove')}
            </Button>
          </>
        )}
        <output className="quiet">{said}</output>
      </div>
      {failed && <ProblemNotice title={phrase('The mapping was not saved')} error={failed} />}
    </form>
  )
}
