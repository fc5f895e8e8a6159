import { phrase } from '#core/words/phrase.ts'
import { existsSync, rmSync } from 'node:fs'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { ImportOptions } from '#core/exchange/import-records.ts'
import { type ForeignFile, importForeign } from '#core/foreign/import-foreign.ts'
import { keepCopyBeforeImport } from '#core/store/copies.ts'
import { type Store, learnPlans, openStore } from '#core/store/open.ts'
import { foldLog } from '#core/store/whole-copy.ts'

type StoredOutcome = Extract<ImportOutcome, { outcome: 'stored' }>

export interface FileImportOptions extends ImportOptions {
  /** What follows a folder that brought something new, while the file is still open. */
  readonly afterwards?: ((store: Store, outcome: StoredOutcome) => Promise<void>) | undefined
  /** Whether this program has had the file's pages checked since it opened it. */
  readonly checked?: boolean
}

async function intoFile<O extends ImportOutcome>(
  dbFile: string,
  bring: (store: Store, options: ImportOptions) => Promise<O>,
  { afterwards, checked = false, ...options }: FileImportOptions,
): Promise<O> {
  const isNew = !existsSync(dbFile)
  const store = await openStore(dbFile, { checked })
  let stored = false
  try {
    if (!isNew)
      options.onProgress?.({ stage: phrase('Keeping a copy of what is there'), rows: 0, rowsPerSecond: 0, share: null })
    await keepCopyBeforeImport(store.raw, store.file)
    options.signal?.throwIfAborted()
    const outcome = await bring(store, options)
    stored = outcome.outcome === 'stored'
    if (outcome.outcome === 'stored') {
      // What follows asks about all that has just come in.
      learnPlans(store.raw, 'all')
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

/**
 * Brings a fleet folder into a fleet file, made where there is none, through a connection of its own and in this
 * thread; a copy of what it held is kept before. A file made for an import that came to nothing is removed again.
 * Errors: those of `openStore`, `keepCopyBeforeImport` and `importFolder`.
 */
export const importIntoFile = (
  dbFile: string,
  folder: string,
  options: FileImportOptions = {},
): Promise<ImportOutcome> => intoFile(dbFile, (store, own) => importFolder(store, folder, own), options)

/** The same for a foreign file. Errors: those of `openStore`, `keepCopyBeforeImport` and `importForeign`. */
export const importForeignIntoFile = (
  dbFile: string,
  file: ForeignFile,
  options: FileImportOptions = {},
): Promise<ForeignOutcome> => intoFile<ForeignOutcome>(dbFile, (store, own) => importForeign(store, file, own), options)
