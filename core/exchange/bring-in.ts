import { Worker } from 'node:worker_threads'
import type { ImportOutcome } from '#core/api/contract.ts'
import type { ExportOutcome } from '#core/exchange/export-folder.ts'
import type { FolderTask } from '#core/exchange/folder-task.ts'
import type { FolderMessage } from '#core/exchange/folder-worker.ts'
import type { ImportOptions } from '#core/exchange/import-folder.ts'
import { workerUrl } from '#core/exchange/worker-url.ts'
import { TarelineError } from '#core/fleet/problem.ts'

/** Errors lose their class on the way between threads; ours get it back by their code. */
function revive({ code, error }: Extract<FolderMessage, { kind: 'failed' }>): unknown {
  if (code === null || !(error instanceof Error)) return error
  return new TarelineError(code, error.message, { cause: error })
}

function inThread<T>(task: FolderTask, { signal, onProgress }: ImportOptions): Promise<T> {
  signal?.throwIfAborted()
  const worker = new Worker(workerUrl(), { workerData: task })
  const cancel = () => worker.postMessage('cancel')
  signal?.addEventListener('abort', cancel, { once: true })
  return new Promise<T>((resolve, reject) => {
    worker.on('message', (message: FolderMessage) => {
      if (message.kind === 'progress') onProgress?.(message.progress)
      else if (message.kind === 'done') resolve(message.value as T)
      else reject(signal?.aborted ? signal.reason : revive(message))
    })
    worker.on('error', reject)
    worker.on('exit', (code) => reject(new Error(`the thread that works on the fleet folder ended with code ${code} before it was done`)))
  }).finally(() => signal?.removeEventListener('abort', cancel))
}

export interface BringInOptions extends ImportOptions {
  /** Have the fleet assessed anew afterwards; the default. Without it the first look at the fleet does so. */
  readonly assess?: boolean
}

/**
 * Brings a fleet folder into a fleet file, made where there is none: all of it, or, when any row has a problem, nothing. Runs
 * in a thread with a connection of its own, then has the fleet assessed anew. A cancel leaves nothing of the import.
 *
 * Errors: TarelineError `no-folder`, `locked` and those of `openStore`; the signal's reason after a cancel.
 */
export const bringInFolder = (dbFile: string, folder: string, { assess = true, ...options }: BringInOptions = {}): Promise<ImportOutcome> =>
  inThread<ImportOutcome>({ kind: 'bring in', dbFile, folder, assess }, options)

/** Writes a fleet file out as a fleet folder, in a thread with a connection of its own. Errors: those of `exportFolder` and `openStore`. */
export const writeOutFolder = (dbFile: string, folder: string): Promise<ExportOutcome> =>
  inThread<ExportOutcome>({ kind: 'write out', dbFile, folder }, {})

/** Brings the stored weights up to the record, in a thread with a connection of its own. Errors: those of `openStore`. */
export const weighInThread = (dbFile: string): Promise<void> => inThread<void>({ kind: 'weigh', dbFile }, {})

/** The cab cards of units at a time (ms UTC) as one PDF, made in a thread. Errors: TarelineError `no-such-unit`; those of `openStore`. */
export const cabCardsInThread = (dbFile: string, units: readonly string[], at: number): Promise<Uint8Array<ArrayBuffer>> =>
  inThread<Uint8Array<ArrayBuffer>>({ kind: 'cab cards', dbFile, units, at }, {})

/** Judges the fleet on a day (ms UTC) and stores the outcome, in a thread with a connection of its own. Errors: those of `openStore`. */
export const assessInThread = (dbFile: string, asOf: number): Promise<void> => inThread<void>({ kind: 'assess', dbFile, asOf }, {})
