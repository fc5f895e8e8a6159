import { Button, Progress } from '@mantine/core'
import { useSyncExternalStore } from 'react'
import type { ImportProgress } from '#core/contracts/import.ts'
import { count } from '#renderer/parts/format.ts'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import './import-progress.css'

export type ImportState<O> =
  | { readonly phase: 'idle' }
  | { readonly phase: 'running'; readonly source: string; readonly progress: ImportProgress }
  | { readonly phase: 'cancelled'; readonly source: string }
  | { readonly phase: 'failed'; readonly source: string; readonly error: unknown }
  | { readonly phase: 'finished'; readonly source: string; readonly outcome: O }

interface ImportProgressNoticeProps {
  readonly state: ImportState<unknown>
  readonly as?: 'h2' | 'h3'
  readonly onCancel: () => void
}

/** How far an import has come, with a way to stop it; or that it was stopped, or failed. */
export function ImportProgressNotice({ state, as, onCancel }: ImportProgressNoticeProps) {
  if (state.phase === 'cancelled')
    return (
      <Notice as={as} title={phrase('Cancelled')}>
        <p>{phrase('Nothing of {source} was stored.', { source: state.source })}</p>
      </Notice>
    )
  if (state.phase === 'failed')
    return <ProblemNotice title={phrase('{source} was not imported', { source: state.source })} error={state.error} />
  if (state.phase !== 'running') return null
  const { stage, rows, rowsPerSecond, share } = state.progress
  return (
    <div className="import-running">
      <div className="import-running-head">
        <strong>{state.source}</strong>
        <Button onClick={onCancel}>{phrase('Cancel')}</Button>
      </div>
      <Progress
        value={share === null ? 100 : share * 100}
        animated={share === null}
        striped={share === null}
        aria-label={phrase('Importing {source}', { source: state.source })}
      />
      <output>
        {stage}
        {rows > 0 &&
          phrase(': {rows} rows, {rowsPerSecond} rows/s', { rows: count(rows), rowsPerSecond: count(rowsPerSecond) })}
      </output>
    </div>
  )
}

type Steps<O> = AsyncIterator<ImportProgress, O, void>
/** Starts an import and answers its steps; what goes before them is told to `onProgress`. */
export type StartSteps<O> = (signal: AbortSignal, onProgress: (progress: ImportProgress) => void) => Promise<Steps<O>>

export interface ImportRun<O> {
  /** The present import, or the outcome of the last one. */
  readonly useState: () => ImportState<O>
  /** Runs one import to its end; one at a time. stage: what is told before its first step. */
  run(source: string, stage: string, start: StartSteps<O>): Promise<void>
  cancel(): void
  /** Forgets the last outcome; an import that runs goes on. */
  forget(): void
}

export const atStart = (stage: string): ImportProgress => ({ stage, rows: 0, rowsPerSecond: 0, share: null })

/** An import that lives outside its screen: it goes on while its person looks at another one. */
export function importRun<O>(): ImportRun<O> {
  let state: ImportState<O> = { phase: 'idle' }
  let running: AbortController | undefined
  const listeners = new Set<() => void>()
  const change = (next: ImportState<O>) => {
    state = next
    for (const listener of listeners) listener()
  }
  const subscribe = (listener: () => void) => {
    listeners.add(listener)
    return () => listeners.delete(listener)
  }
  return {
    useState: () => useSyncExternalStore(subscribe, () => state),
    run: async (source, stage, start) => {
      const control = new AbortController()
      const { signal } = control
      running = control
      const onProgress = (progress: ImportProgress) => {
        if (!signal.aborted) change({ phase: 'running', source, progress })
      }
      onProgress(atStart(stage))
      try {
        const steps = await start(signal, onProgress)
        for (;;) {
          const step = await steps.next()
          if (step.done) {
            change({ phase: 'finished', source, outcome: step.value })
            return
          }
          onProgress(step.value)
        }
      } catch (error) {
        // After a cancel the transports answer with different errors; the signal alone tells.
        change(signal.aborted ? { phase: 'cancelled', source } : { phase: 'failed', source, error })
      }
    },
    cancel: () => running?.abort(),
    forget: () => {
      if (state.phase !== 'running') change({ phase: 'idle' })
    },
  }
}
