import { parentPort, workerData } from 'node:worker_threads'
import type { ImportProgress } from '#core/api/contract.ts'
import { doFolderTask, type FolderTask } from '#core/exchange/folder-task.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { faultDuringWork } from '#core/store/sqlite-fault.ts'

/** What the thread says; a cancel comes the other way, as the one message `cancel`. */
export type FolderMessage =
  | { readonly kind: 'progress'; readonly progress: ImportProgress }
  | { readonly kind: 'done'; readonly value: unknown }
  | { readonly kind: 'failed'; readonly code: string | null; readonly error: unknown }

// A thread of its own, so that the app answers meanwhile.
const port = parentPort
if (!port) throw new Error('folder-worker.ts is started as a worker thread')
const cancel = new AbortController()
port.on('message', () => cancel.abort())
const say = (message: FolderMessage) => port.postMessage(message)
try {
  const { checked, ...task } = workerData as FolderTask & { readonly checked: boolean }
  say({ kind: 'done', value: await doFolderTask(task, checked, cancel.signal, (progress) => say({ kind: 'progress', progress })) })
} catch (error) {
  // On its way out of the thread an error loses all but its words.
  const told = error instanceof TarelineError ? error : faultDuringWork(error)
  say({ kind: 'failed', code: told?.code ?? null, error: told ?? error })
}
port.close()
