import { existsSync, rmSync } from 'node:fs'
import { parentPort, workerData } from 'node:worker_threads'
import type { ImportProgress } from '#core/api/contract.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { reassessFleet } from '#core/store/assessment.ts'
import { openStore } from '#core/store/open.ts'
import { forgetWeighings, updateWeighings } from '#core/store/weighings.ts'

/** What the thread is asked to do with a fleet file. */
export type FolderTask =
  | { readonly kind: 'bring in'; readonly dbFile: string; readonly folder: string; readonly assess: boolean }
  | { readonly kind: 'write out'; readonly dbFile: string; readonly folder: string }
  | { readonly kind: 'assess'; readonly dbFile: string; readonly asOf: number }
  | { readonly kind: 'weigh'; readonly dbFile: string }

/** What the thread says; a cancel comes the other way, as the one message `cancel`. */
export type FolderMessage =
  | { readonly kind: 'progress'; readonly progress: ImportProgress }
  | { readonly kind: 'done'; readonly value: unknown }
  | { readonly kind: 'failed'; readonly code: string | null; readonly error: unknown }

/** Whether rows of tickets or readings that were stored before have been completed: then their weights may be others. */
const completesWeighings = ({ files }: { readonly files: readonly { readonly file: string; readonly completed: number }[] }): boolean =>
  files.some(({ file, completed }) => completed > 0 && (file === folderFiles.tickets.file || file === folderFiles.readings.file))

/** Works on a fleet file in a thread and on a connection of its own, so that the app answers meanwhile. */
async function work(task: FolderTask, signal: AbortSignal, onProgress: (progress: ImportProgress) => void): Promise<unknown> {
  const { kind, dbFile } = task
  const isNew = !existsSync(dbFile)
  const store = await openStore(dbFile, { mustExist: kind !== 'bring in' })
  let stored = false
  try {
    if (kind === 'write out') return await exportFolder(store, task.folder)
    if (kind === 'assess') return await reassessFleet(store, task.asOf)
    if (kind === 'weigh') return await updateWeighings(store)
    const outcome = await importFolder(store, task.folder, { signal, onProgress })
    stored = outcome.outcome === 'stored'
    if (outcome.outcome === 'stored' && completesWeighings(outcome)) await forgetWeighings(store)
    if (task.assess && outcome.outcome === 'stored' && outcome.files.some(({ added, completed }) => added + completed > 0)) {
      const rows = outcome.files.reduce((sum, { read }) => sum + read, 0)
      onProgress({ stage: 'Assessing the fleet', rows, rowsPerSecond: Math.round(rows / Math.max(0.001, outcome.seconds)), share: null })
      await reassessFleet(store, Date.now())
      onProgress({ stage: 'Weighing the record', rows, rowsPerSecond: Math.round(rows / Math.max(0.001, outcome.seconds)), share: null })
      await updateWeighings(store)
    }
    return outcome
  } finally {
    await store.close()
    // A file made for an import that came to nothing would only be taken for a fleet without units.
    if (isNew && !stored) rmSync(dbFile, { force: true })
  }
}

const port = parentPort
if (!port) throw new Error('folder-worker.ts is started as a worker thread')
const cancel = new AbortController()
port.on('message', () => cancel.abort())
const say = (message: FolderMessage) => port.postMessage(message)
try {
  say({ kind: 'done', value: await work(workerData as FolderTask, cancel.signal, (progress) => say({ kind: 'progress', progress })) })
} catch (error) {
  say({ kind: 'failed', code: error instanceof TarelineError ? error.code : null, error })
}
port.close()
