import { existsSync, rmSync } from 'node:fs'
import type { ImportProgress } from '#core/api/contract.ts'
import { makeCabCards } from '#core/exchange/cab-cards.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { reassessFleet } from '#core/store/assessment.ts'
import { openStore } from '#core/store/open.ts'
import { forgetWeighings, updateWeighings } from '#core/store/weighings.ts'

/** What is to be done with a fleet file, in a thread of its own or where nobody waits meanwhile. */
export type FolderTask =
  | { readonly kind: 'bring in'; readonly dbFile: string; readonly folder: string; readonly assess: boolean }
  | { readonly kind: 'write out'; readonly dbFile: string; readonly folder: string }
  | { readonly kind: 'assess'; readonly dbFile: string; readonly asOf: number }
  | { readonly kind: 'weigh'; readonly dbFile: string }
  | { readonly kind: 'cab cards'; readonly dbFile: string; readonly units: readonly string[]; readonly at: number }

/** Whether rows of tickets or readings that were stored before have been completed: then their weights may be others. */
const completesWeighings = ({ files }: { readonly files: readonly { readonly file: string; readonly completed: number }[] }): boolean =>
  files.some(({ file, completed }) => completed > 0 && (file === folderFiles.tickets.file || file === folderFiles.readings.file))

/**
 * Does a task on a fleet file through a connection of its own. Errors: those of `openStore`, `importFolder` and `exportFolder`;
 * the signal's reason after a cancel.
 */
export async function doFolderTask(task: FolderTask, signal: AbortSignal, onProgress: (progress: ImportProgress) => void): Promise<unknown> {
  const { kind, dbFile } = task
  const isNew = !existsSync(dbFile)
  const store = await openStore(dbFile, { mustExist: kind !== 'bring in' })
  let stored = false
  try {
    if (kind === 'write out') return await exportFolder(store, task.folder)
    if (kind === 'assess') return await reassessFleet(store, task.asOf)
    if (kind === 'weigh') return await updateWeighings(store)
    if (kind === 'cab cards') return await makeCabCards(store, task.units, task.at)
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
