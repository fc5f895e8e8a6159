import { phrase } from '#core/words/phrase.ts'
import { statSync } from 'node:fs'
import { join } from 'node:path'
import type { CopyFacts, CopyVerdict } from '#core/contracts/copies.ts'
import { attachmentsFolder, copiedAttachmentsFolder } from '#core/store/attachments.ts'
import { checkFile } from '#core/store/check-file.ts'
import { keepCopy, keepCopyBesideImport, keepDayCopy, listCopyNames } from '#core/store/copies.ts'
import { copiesFolder, readCopyName } from '#core/store/copy-names.ts'
import { readFileFacts } from '#core/store/file-facts.ts'
import { openToLook } from '#core/store/look.ts'
import { checkPages, openStore } from '#core/store/open.ts'
import { type RestoreOptions, type Restored, clearName, restoreCopy } from '#core/store/restore.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'

/** Why a copy is kept that is asked for. */
export type KeptFor = 'day' | 'by-hand' | 'before-import'

/** What is done with the copies of a fleet file, in a thread. */
export type CopyTask =
  | { readonly kind: 'check pages'; readonly dbFile: string }
  | { readonly kind: 'keep copy'; readonly dbFile: string; readonly reason: KeptFor }
  | { readonly kind: 'copy beside import'; readonly dbFile: string }
  | { readonly kind: 'list copies'; readonly dbFile: string }
  | { readonly kind: 'check copy'; readonly dbFile: string; readonly name: string }
  | { readonly kind: 'restore copy'; readonly dbFile: string; readonly from: CopySource; readonly isDamaged: boolean }
  | { readonly kind: 'start empty'; readonly dbFile: string; readonly isDamaged: boolean }

/** A copy of the file's own, by name, or any file on this computer. */
export type CopySource = { readonly name: string } | { readonly path: string }

const nothing: Omit<CopyFacts, 'bytes'> = {
  units: null,
  tickets: null,
  readings: null,
  calibrations: null,
  attachments: null,
  lastChangeAt: null,
  newestWeighingAt: null,
}

/** What a file holds, as far as it can say. */
function factsOf(file: string): CopyFacts {
  const bytes = statSync(file).size
  try {
    const raw = openToLook(file)
    try {
      return readFileFacts(raw, file)
    } finally {
      raw.close()
    }
  } catch (error) {
    if (faultOf(error) === undefined) throw error
    return { ...nothing, bytes }
  }
}

/** The path of a copy by its name; a name that could lead elsewhere is none. */
function pathOf(dbFile: string, name: string): string {
  if (readCopyName(name) === undefined || /[\\/]/.test(name))
    throw new TarelineError('no-such-copy', phrase('There is no copy {name}. Choose one of the list.', { name }))
  return join(copiesFolder(dbFile), name)
}

const listCopies = (dbFile: string) =>
  listCopyNames(dbFile).map(({ name, reason, at }) => {
    const path = join(copiesFolder(dbFile), name)
    return { name, reason, madeAt: toStoredInstant(at ?? statSync(path).mtimeMs), ...factsOf(path) }
  })

async function checkCopy(dbFile: string, name: string): Promise<CopyVerdict> {
  try {
    const { sound, message } = await checkFile(pathOf(dbFile, name), [
      copiedAttachmentsFolder(dbFile),
      attachmentsFolder(dbFile),
    ])
    return { sound, message }
  } catch (error) {
    if (error instanceof TarelineError) return { sound: false, message: error.message }
    throw error
  }
}

async function keep(dbFile: string, reason: KeptFor, checked: boolean): Promise<string | null> {
  const store = await openStore(dbFile, { mustExist: true, checked })
  try {
    return reason === 'day' ? await keepDayCopy(store.raw, store.file) : await keepCopy(store.raw, store.file, reason)
  } finally {
    await store.close()
  }
}

/** Moves what lies under the name away and makes an empty fleet file there. */
async function startEmpty(dbFile: string, options: RestoreOptions): Promise<Restored> {
  const cleared = await clearName(dbFile, options)
  await (await openStore(dbFile)).close()
  return cleared
}

/** Does a task on the copies of a fleet file. Errors: those of the store's functions that it calls. */
export async function doCopyTask(task: CopyTask, checked: boolean): Promise<unknown> {
  const { dbFile } = task
  if (task.kind === 'check pages') return await checkPages(dbFile)
  if (task.kind === 'keep copy') return await keep(dbFile, task.reason, checked)
  if (task.kind === 'copy beside import') return await keepCopyBesideImport(dbFile)
  if (task.kind === 'list copies') return listCopies(dbFile)
  if (task.kind === 'check copy') return await checkCopy(dbFile, task.name)
  if (task.kind === 'start empty') return await startEmpty(dbFile, task)
  return await restoreCopy(dbFile, 'name' in task.from ? pathOf(dbFile, task.from.name) : task.from.path, task)
}
