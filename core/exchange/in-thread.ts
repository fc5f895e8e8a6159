import { Worker } from 'node:worker_threads'
import { whenChecked } from '#core/exchange/checked-files.ts'
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

/** Tasks that do not open the fleet file itself as a store: its copies can be seen to whatever state it is in. */
const besideTheFile: ReadonlySet<FolderTask['kind']> = new Set<FolderTask['kind']>(['check pages', 'list copies', 'check copy', 'restore copy', 'start empty', 'support bundle'])

/**
 * Does a task on a fleet file in a thread with a connection of its own. A task waits for the check of the file's pages that is
 * under way in this program, and then needs none of its own. Errors: those of `doFolderTask`; the signal's reason after a cancel.
 */
export async function inThread<T>(task: FolderTask, { signal, onProgress }: ImportOptions = {}): Promise<T> {
  const checked = besideTheFile.has(task.kind) ? false : await whenChecked(task.dbFile)
  signal?.throwIfAborted()
  const worker = new Worker(workerUrl(), { workerData: { ...task, checked } })
  const cancel = () => worker.postMessage('cancel')
  signal?.addEventListener('abort', cancel, { once: true })
  return await new Promise<T>((resolve, reject) => {
    worker.on('message', (message: FolderMessage) => {
      if (message.kind === 'progress') onProgress?.(message.progress)
      else if (message.kind === 'done') resolve(message.value as T)
      else reject(signal?.aborted ? signal.reason : revive(message))
    })
    worker.on('error', reject)
    worker.on('exit', (code) => reject(new Error(`the thread that works on the fleet file ended with code ${code} before it was done`)))
  }).finally(() => signal?.removeEventListener('abort', cancel))
}
