import { existsSync, rmSync } from 'node:fs'
import type { ImportOutcome } from '#core/api/contract.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'
import { importFolder, type ImportOptions } from '#core/exchange/import-folder.ts'
import { keepCopyBeforeImport } from '#core/store/copies.ts'
import { foldLog } from '#core/store/fold-log.ts'
import { openStore, type Store } from '#core/store/open.ts'

type StoredOutcome = Extract<ImportOutcome, { outcome: 'stored' }>

export interface FileImportOptions extends ImportOptions {
  /** What follows a folder that brought something new, while the file is still open. */
  readonly afterwards?: ((store: Store, outcome: StoredOutcome) => Promise<void>) | undefined
  /** Whether this program has had the file's pages checked since it opened it. */
  readonly checked?: boolean
}

/** Whether rows of tickets or readings that were stored before have been completed: then their weights may be others. */
const completesWeighings = ({ files }: { readonly files: readonly { readonly file: string; readonly completed: number }[] }): boolean =>
  files.some(({ file, completed }) => completed > 0 && (file === folderFiles.tickets.file || file === folderFiles.readings.file))

/**
 * Brings a fleet folder into a fleet file, made where there is none, through a connection of its own and in this thread; a
 * copy of what it held is kept before. A file made for an import that came to nothing is removed again. Errors: those of
 * `openStore`, `keepCopyBeforeImport` and `importFolder`.
 */
export async function importIntoFile(dbFile: string, folder: string, { afterwards, checked = false, ...options }: FileImportOptions = {}): Promise<ImportOutcome> {
  const isNew = !existsSync(dbFile)
  const store = await openStore(dbFile, { checked })
  let stored = false
  try {
    if (!isNew) options.onProgress?.({ stage: 'Keeping a copy of what is there', rows: 0, rowsPerSecond: 0, share: null })
    await keepCopyBeforeImport(store.raw, store.file)
    options.signal?.throwIfAborted()
    const outcome = await importFolder(store, folder, options)
    stored = outcome.outcome === 'stored'
    if (outcome.outcome === 'stored') {
      // Loaded only where it is needed: the command line starts without it.
      if (completesWeighings(outcome)) await (await import('#core/store/weighings.ts')).forgetWeighings(store)
      if (outcome.files.some(({ added, completed }) => added + completed > 0)) await afterwards?.(store, outcome)
    }
    return outcome
  } finally {
    if (!stored) foldLog(store.raw)
    await store.close()
    // It would only be taken for a fleet without units.
    if (isNew && !stored) rmSync(dbFile, { force: true })
  }
}
