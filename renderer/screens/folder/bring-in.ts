import { useQueryClient } from '@tanstack/react-query'
import { useSyncExternalStore } from 'react'
import type { ImportOutcome, ImportProgress } from '#core/api/contract.ts'
import { client } from '#renderer/client/api.ts'
import { type PlacedFile, sendFiles } from '#renderer/client/inbox.ts'

export type ImportState =
  | { readonly phase: 'idle' }
  | { readonly phase: 'running'; readonly source: string; readonly progress: ImportProgress }
  | { readonly phase: 'cancelled'; readonly source: string }
  | { readonly phase: 'failed'; readonly source: string; readonly error: unknown }
  | { readonly phase: 'finished'; readonly source: string; readonly outcome: ImportOutcome }

type Source = Parameters<typeof client.folder.bringIn>[0]
type FindSource = (signal: AbortSignal, onProgress: (progress: ImportProgress) => void) => Promise<Source>

/** Files are sent first; their share of the whole is small, as they do not leave this computer. */
const sendingShare = 0.1
const atStart = (stage: string): ImportProgress => ({ stage, rows: 0, rowsPerSecond: 0, share: null })

// The import lives outside the screen: it goes on while its person looks at another one.
let state: ImportState = { phase: 'idle' }
let running: AbortController | undefined
const listeners = new Set<() => void>()

function change(next: ImportState): void {
  state = next
  for (const listener of listeners) listener()
}

function subscribe(listener: () => void) {
  listeners.add(listener)
  return () => listeners.delete(listener)
}

/** The present import, or the outcome of the last one. */
export const useImportState = (): ImportState => useSyncExternalStore(subscribe, () => state)

async function run(source: string, stage: string, findSource: FindSource): Promise<void> {
  const control = new AbortController()
  const { signal } = control
  running = control
  const onProgress = (progress: ImportProgress) => {
    if (!signal.aborted) change({ phase: 'running', source, progress })
  }
  onProgress(atStart(stage))
  try {
    const steps = await client.folder.bringIn(await findSource(signal, onProgress), { signal })
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
}

/** Starts, cancels and forgets imports; one runs at a time. */
export function useBringIn() {
  const queries = useQueryClient()
  const start = async (...how: Parameters<typeof run>) => {
    await run(...how)
    await queries.invalidateQueries()
  }
  return {
    bringInFiles: (name: string, files: readonly PlacedFile[]) => start(name, 'Sending the files', async (signal, onProgress) => ({
      inbox: await sendFiles(files, { signal, onSent: (file, sent) => onProgress({ ...atStart(`Sent ${file}`), share: (sendingShare * sent) / files.length }) }),
    })),
    bringInFolder: (folder: string) => start(folder, 'Opening the folder', async () => ({ folder })),
    cancel: () => running?.abort(),
    forget: () => change({ phase: 'idle' }),
  }
}
