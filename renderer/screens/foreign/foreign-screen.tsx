import { Button } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useMutation, useQuery } from '@tanstack/react-query'
import { useEffect, useEffectEvent } from 'react'
import type { ForeignFileSource, ForeignPreview } from '#core/contracts/foreign.ts'
import { foreignFile } from '#core/foreign/mapping/mapping.ts'
import { api, client } from '#renderer/client/api.ts'
import { forgetFiles, sendFiles } from '#renderer/client/inbox.ts'
import { renewAfter } from '#renderer/client/queries.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { type Draft, useDraft } from '#renderer/parts/draft.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { ImportProgressNotice } from '#renderer/parts/import-progress.tsx'
import { DraftNote, Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SourceChooser } from '#renderer/parts/source-chooser.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { FilePreview, StoredPreview } from './file-preview.tsx'
import { RefusedReport, StoredReport, saveRest } from './foreign-outcome.tsx'
import { foreignRun, useForeignState } from './foreign-run.ts'
import './foreign-screen.css'
import { type ForeignDraft, nothingChosen, sendable, sourceName } from './mapping-draft.ts'
import { MappingForm } from './mapping-form.tsx'
import { SavedMappings } from './saved-mappings.tsx'

type Input = Parameters<typeof client.foreign.bringIn>[0]

/** Brings a file in, in the background: its person may look at another screen meanwhile. */
async function bringIn(name: string, input: Input): Promise<void> {
  await foreignRun.run(name, phrase('Opening the file'), async (signal) => {
    const steps = await client.foreign.bringIn(input, { signal })
    return {
      next: async () => {
        const step = await steps.next()
        // Saved at once: what is left out is only here.
        if (step.done === true && step.value.outcome === 'stored' && step.value.rest !== null)
          saveRest(name, step.value.rest)
        return step
      },
    }
  })
  await renewAfter('foreign.bringIn')
}

/** Names the CSV file that is to be looked into. */
function FileChooser({ onSource }: { onSource: (source: ForeignFileSource) => void }) {
  const sending = useMutation({
    mutationFn: async (file: File) => ({
      inbox: await sendFiles([{ file, path: foreignFile }]),
      name: file.name.slice(0, 255),
    }),
    onSuccess: onSource,
  })
  const take = ([file]: FileList) => {
    if (file) sending.mutate(file)
  }
  return (
    <SourceChooser
      choose={phrase('Choose a file…')}
      loading={sending.isPending}
      heard={phrase('CSV file')}
      accept=".csv,.txt,.tsv,text/csv,text/plain"
      typed={{
        label: phrase('Or a file on this computer'),
        placeholder: phrase('Full path, such as C:\\Fleet\\tickets.csv'),
        action: phrase('Preview'),
        onPath: (path) => onSource({ path }),
      }}
      onFiles={take}
      onDrop={({ files }) => take(files)}
    >
      {sending.isError && <ProblemNotice title={phrase('The file was not taken')} error={sending.error} />}
    </SourceChooser>
  )
}

const pauseMs = 150

function Preview({ preview }: { preview: ForeignPreview }) {
  const { rows, gaps, faults, isWhole } = preview
  const bad = rows.filter(({ problems }) => problems.length > 0).length
  return (
    <>
      {gaps.length > 0 && (
        <Notice title={phrase('Still to be set')}>
          <ul className="foreign-gaps">
            {gaps.map((gap) => (
              <li key={gap}>{gap}</li>
            ))}
          </ul>
        </Notice>
      )}
      {faults.map(({ line, message }) => (
        <p key={line} className="foreign-wrong">
          {phrase('✕ Line {line}: {message}', { line: count(line), message })}
        </p>
      ))}
      <h2>{phrase('The file')}</h2>
      <p className="quiet">
        {phrase(
          '{which} {rows, plural, one {# row} other {# rows}}{bad}. Every row is read when the file is imported.',
          {
            which: isWhole ? phrase('All') : phrase('The first'),
            rows: rows.length,
            bad: bad > 0 && phrase(', {bad} of them with something wrong', { bad: count(bad) }),
          },
        )}
      </p>
      {rows.length > 0 && <FilePreview preview={preview} />}
      <h2>{phrase('As they would be stored')}</h2>
      <StoredPreview preview={preview} />
    </>
  )
}

/** A chosen file: its mapping at the left, its rows at the right, and what comes of bringing it in. */
function ChosenFile({
  source,
  draft,
  onAnother,
}: {
  source: ForeignFileSource
  draft: Draft<ForeignDraft>
  onAnother: () => void
}) {
  const { zone } = useMeasures().times
  const { mapping: set, savedId } = draft.value
  const [asked] = useDebouncedValue(set, pauseMs)
  const look = useQuery(
    api.foreign.preview.queryOptions({
      input: { source, mapping: asked && sendable(asked), zone },
      placeholderData: keepPreviousData,
    }),
  )
  const saved = useQuery(api.foreign.mappings.queryOptions()).data
  const state = useForeignState()
  const { phase } = state
  const preview = look.data
  const mapping = set ?? preview?.mapping
  const name = sourceName(source)
  const columns = (preview?.columns ?? []).filter((column) => column !== null)
  const chosenId = set === null ? (saved?.find(({ name: each }) => each === preview?.taken)?.id ?? null) : savedId
  const start = (goodRows: boolean) => {
    if (mapping) void bringIn(name, { source, mapping: sendable(mapping), goodRows })
  }
  return (
    <div className="foreign-work">
      <div className="stack">
        <div className="flow foreign-file">
          <strong>{name}</strong>
          <Button disabled={phase === 'running'} onClick={onAnother}>
            {phrase('Choose another file')}
          </Button>
        </div>
        {mapping && (
          <>
            <SavedMappings
              mapping={sendable(mapping)}
              savedId={chosenId}
              fits={preview?.fits ?? []}
              onChoose={(chosen) => {
                foreignRun.forget()
                draft.set({ source, mapping: chosen?.mapping ?? null, savedId: chosen?.id ?? null })
              }}
            />
            <MappingForm
              mapping={mapping}
              columns={columns}
              onChange={(next) => {
                foreignRun.forget()
                draft.set({ source, mapping: next, savedId: chosenId })
              }}
            />
          </>
        )}
      </div>
      <div className="stack foreign-main">
        <ImportProgressNotice state={state} onCancel={foreignRun.cancel} />
        {phase === 'finished' && state.outcome.outcome === 'refused' && (
          <RefusedReport source={state.source} outcome={state.outcome} onGoodRows={() => start(true)} />
        )}
        {phase !== 'running' && (
          <>
            <div className="flow">
              <Button
                variant="filled"
                size="sm"
                disabled={!preview || preview.gaps.length > 0}
                onClick={() => start(false)}
              >
                {phrase('Import {name}', { name })}
              </Button>
              <span className="quiet">{phrase('All of it or nothing; a copy of the fleet file is kept before.')}</span>
            </div>
            {look.isPending && <output>{phrase('Reading the first rows…')}</output>}
            {look.isError && <ProblemNotice title={phrase('The file could not be read')} error={look.error} />}
            {preview && !look.isError && <Preview preview={preview} />}
          </>
        )}
      </div>
    </div>
  )
}

/** Tickets and readings from any CSV file: which column is what, seen on the first rows, saved by name, imported. */
export function ForeignScreen() {
  const draft = useDraft<ForeignDraft>('foreign csv', nothingChosen)
  const { source } = draft.value
  const state = useForeignState()
  const stored =
    state.phase === 'finished' && state.outcome.outcome === 'stored'
      ? { source: state.source, outcome: state.outcome }
      : null
  const isStored = stored !== null
  // The core has forgotten the picked file by then.
  const onStored = useEffectEvent(draft.clear)
  useEffect(() => {
    if (isStored) onStored()
  }, [isStored])
  const another = () => {
    if (source !== null && 'inbox' in source) void forgetFiles(source.inbox)
    draft.clear()
    foreignRun.forget()
  }
  return (
    <div className="page stack">
      <ScreenTitle>{phrase('Import a CSV file')}</ScreenTitle>
      <p className="foreign-words">
        <Phrase
          text="Tickets from a scale operator, or pressures from a sensor app. The units, groups, circuits, scales and sensors that the file names must be in the record already; <link>a fleet folder</link> brings those."
          with={{ link: (words) => <a href={hrefOf('folder')}>{words}</a> }}
        />
      </p>
      <DraftNote draft={draft} />
      {stored !== null && <StoredReport source={stored.source} outcome={stored.outcome} onAnother={another} />}
      {stored === null &&
        (source === null ? (
          <FileChooser onSource={(chosen) => draft.set({ ...nothingChosen, source: chosen })} />
        ) : (
          <ChosenFile source={source} draft={draft} onAnother={another} />
        ))}
    </div>
  )
}
