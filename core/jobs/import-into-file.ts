import { existsSync, rmSync, statSync } from 'node:fs'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { type ImportOptions, hasNew } from '#core/exchange/import-records.ts'
import { type ForeignFile, importForeign } from '#core/foreign/import-foreign.ts'
import { copyBesideImportInThread } from '#core/jobs/in-thread.ts'
import { isCopyDueBeforeImport, keepCopyBesideImport } from '#core/store/copies.ts'
import { type Harm, isHarm, mend } from '#core/store/look-over.ts'
import { type Store, latestStep, learnPlans, openStore, smallBytes } from '#core/store/open.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { foldLog, pastTheLog } from '#core/store/whole-copy.ts'

type StoredOutcome = Extract<ImportOutcome, { outcome: 'stored' }>

export interface FileImportOptions extends ImportOptions {
  /** What follows a folder that brought something new, while the file is still open. */
  readonly afterwards?: ((store: Store, outcome: StoredOutcome) => Promise<void>) | undefined
  /** Whether this program has had the file's pages checked since it opened it. */
  readonly checked?: boolean
}

/** Thrown out of an import whose copy has shown that the file is to be mended before anything more is stored in it. */
class ToMend extends Error {
  readonly harm: Harm

  constructor(harm: Harm) {
    super('parts of the file are to be made anew first')
    this.harm = harm
  }
}

/** What an import has kept of the file before it stores anything; undefined where no copy is due. */
function copyBefore({ raw, file }: Store): { begin(): Promise<void>; end(): Promise<unknown> } | undefined {
  if (!isCopyDueBeforeImport(raw, file)) return undefined
  const copy = async () => {
    // A thread takes longer to start than a small file to copy.
    const harm = await (statSync(file).size > smallBytes ? copyBesideImportInThread(file) : keepCopyBesideImport(file))
    if (isHarm(harm)) throw new ToMend(harm)
  }
  let under: Promise<void> | undefined
  return {
    begin: () => (under ??= copy()),
    // Told by whoever waits for it; here nobody may leave while it is still being written.
    end: async () => await under?.catch(() => undefined),
  }
}

async function intoFile<O extends ImportOutcome>(
  dbFile: string,
  bring: (store: Store, options: ImportOptions) => Promise<O>,
  { afterwards, checked = false, ...options }: FileImportOptions,
): Promise<O> {
  const isNew = !existsSync(dbFile)
  const store = await openStore(dbFile, { checked })
  const backToTheLog = isNew ? pastTheLog(store.raw) : undefined
  let stored = false
  let copy = copyBefore(store)
  const bringOnce = async () => {
    try {
      return await bring(store, { ...options, keepBefore: copy?.begin })
    } catch (error) {
      // Of damage that the import came upon the look over the copy tells more.
      if (faultOf(error) === 'damaged') await copy?.begin()
      throw error
    }
  }
  try {
    let outcome: O
    try {
      outcome = await bringOnce()
    } catch (error) {
      if (!(error instanceof ToMend)) throw error
      await mend(store.raw, store.file, latestStep, error.harm)
      copy = copyBefore(store)
      outcome = await bringOnce()
    }
    stored = outcome.outcome === 'stored'
    if (stored) backToTheLog?.()
    if (outcome.outcome === 'stored' && outcome.files.some(hasNew)) {
      // What follows asks about all that has just come in.
      learnPlans(store.raw, 'all')
      await afterwards?.(store, outcome)
    }
    return outcome
  } finally {
    await copy?.end()
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
