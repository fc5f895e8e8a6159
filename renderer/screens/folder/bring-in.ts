import { useQueryClient } from '@tanstack/react-query'
import { useEffect, useRef, useState } from 'react'
import type { ImportOutcome } from '#core/api/contract.ts'
import { client } from '#renderer/client/api.ts'
import { sendFiles } from '#renderer/client/inbox.ts'

export interface Progress { readonly stage: string; readonly rows: number; readonly rowsPerSecond: number; readonly share: number | null }

export type ImportState =
  | { readonly phase: 'idle' }
  | { readonly phase: 'running'; readonly source: string; readonly progress: Progress }
  | { readonly phase: 'cancelled'; readonly source: string }
  | { readonly phase: 'failed'; readonly source: string; readonly error: unknown }
  | { readonly phase: 'finished'; readonly source: string; readonly outcome: ImportOutcome }

const atStart = (stage: string): Progress => ({ stage, rows: 0, rowsPerSecond: 0, share: null })

/** One import at a time: from picked files or a folder of this computer to its outcome, with cancel. */
export function useBringIn() {
  const queries = useQueryClient()
  const [state, setState] = useState<ImportState>({ phase: 'idle' })
  const running = useRef<AbortController>(undefined)
  useEffect(() => () => running.current?.abort(), [])

  async function run(source: string, stage: string, findSource: (signal: AbortSignal, onProgress: (progress: Progress) => void) => Promise<{ inbox: string } | { folder: string }>) {
    const control = new AbortController()
    const { signal } = control
    running.current = control
    const onProgress = (progress: Progress) => {
      if (!signal.aborted) setState({ phase: 'running', source, progress })
    }
    onProgress(atStart(stage))
    try {
      const steps = await client.folder.bringIn(await findSource(signal, onProgress), { signal })
      for (;;) {
        const step = await steps.next()
        if (step.done) {
          if (!signal.aborted) setState({ phase: 'finished', source, outcome: step.value })
          break
        }
        onProgress(step.value)
      }
    } catch (error) {
      // After a cancel the transports answer with different errors; the signal alone tells.
      setState(signal.aborted ? { phase: 'cancelled', source } : { phase: 'failed', source, error })
    }
    await queries.invalidateQueries()
  }

  return {
    state,
    bringInFiles: (name: string, files: readonly File[]) =>
      run(name, 'Sending the files', async (signal, onProgress) => ({
        inbox: await sendFiles(files, { signal, onSent: (file, sent) => onProgress({ ...atStart(`Sent ${file}`), share: (0.1 * sent) / files.length }) }),
      })),
    bringInFolder: (folder: string) => run(folder, 'Opening the folder', async () => ({ folder })),
    cancel: () => {
      running.current?.abort()
      setState((now) => (now.phase === 'running' ? { phase: 'cancelled', source: now.source } : now))
    },
    reset: () => setState({ phase: 'idle' }),
  }
}
