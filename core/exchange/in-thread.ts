import { whenChecked } from '#core/exchange/checked-files.ts'
import type { FolderTask } from '#core/exchange/folder-task.ts'
import type { FolderMessage, FolderOrder } from '#core/exchange/folder-worker.ts'
import type { ImportOptions } from '#core/exchange/import-records.ts'
import { giveThreadBack, takeThread } from '#core/exchange/threads.ts'
import { TarelineError } from '#core/fleet/problem.ts'

/** Errors lose their class on the way between threads; ours get it back by their code. */
function revive({ code, error }: Extract<FolderMessage, { kind: 'failed' }>): unknown {
  if (code === null || !(error instanceof Error)) return error
  return new TarelineError(code, error.message, { cause: error })
}

/** Tasks that do not open the fleet file itself as a store: its copies can be seen to whatever state it is in. */
const besideTheFile: ReadonlySet<FolderTask['kind']> = new Set<FolderTask['kind']>([
  'check pages',
  'list copies',
  'check copy',
  'restore copy',
  'start empty',
  'support bundle',
])

/**
 * Does a task on a fleet file in a thread with a connection of its own. A task waits for the check of the file's pages
 * that is under way in this program, and then needs none of its own. Errors: those of `doFolderTask`; the signal's
 * reason after a cancel.
 */
export async function inThread<T>(task: FolderTask, { signal, onProgress }: ImportOptions = {}): Promise<T> {
  const checked = besideTheFile.has(task.kind) ? false : await whenChecked(task.dbFile)
  signal?.throwIfAborted()
  const worker = takeThread()
  const order = (what: FolderOrder) => worker.postMessage(what)
  const cancel = () => order('cancel')
  signal?.addEventListener('abort', cancel, { once: true })
  const { promise, resolve, reject } = Promise.withResolvers<T>()
  const listen = (message: FolderMessage) => {
    if (message.kind === 'progress') {
      onProgress?.(message.progress)
      return
    }
    leave()
    giveThreadBack(worker, message.heapBytes)
    if (message.kind === 'done') resolve(message.value as T)
    else reject(signal?.aborted ? signal.reason : revive(message))
  }
  const fail = (error: unknown) => {
    leave()
    reject(error)
  }
  const failAtExit = (code: number) =>
    fail(new Error(`the thread that works on the fleet file ended with code ${code} before it was done`))
  const leave = () => {
    signal?.removeEventListener('abort', cancel)
    worker.off('message', listen).off('error', fail).off('exit', failAtExit)
  }
  worker.on('message', listen).on('error', fail).on('exit', failAtExit)
  order({ task, checked })
  return await promise
}
