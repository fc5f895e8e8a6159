import type { CopyFacts, CopyVerdict } from '#core/contracts/copies.ts'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import type { ImportOutcome } from '#core/contracts/import.ts'
import type { CheckNote, RehearsalNote } from '#core/contracts/safekeeping.ts'
import type { ExportOutcome } from '#core/exchange/export-folder.ts'
import type { ImportOptions } from '#core/exchange/import-records.ts'
import type { RuleEffect } from '#core/findings/rule-effect.ts'
import type { ForeignFile } from '#core/foreign/import-foreign.ts'
import { whenChecked } from '#core/jobs/checked-files.ts'
import type { CopySource, KeptFor } from '#core/jobs/copy-task.ts'
import type { FileTask } from '#core/jobs/file-task.ts'
import type { FileMessage, FileOrder } from '#core/jobs/file-worker.ts'
import { giveThreadBack, takeThread } from '#core/jobs/threads.ts'
import type { CopyReason } from '#core/store/copy-names.ts'
import type { Harm } from '#core/store/look-over.ts'
import type { RestoreOptions, Restored } from '#core/store/restore.ts'
import type { Arrived } from '#core/store/second-place.ts'
import type { HouseRuleName } from '#core/words/house-rules.ts'
import { speechTag } from '#core/words/catalogues.ts'
import { speech } from '#core/words/phrase.ts'
import { TarelineError } from '#core/words/problem.ts'

/** Errors lose their class on the way between threads; ours get it back by their code. */
function revive({ code, error }: Extract<FileMessage, { kind: 'failed' }>): unknown {
  if (code === null || !(error instanceof Error)) return error
  return new TarelineError(code, error.message, { cause: error })
}

/** Tasks that only look at the fleet file, or that see to its copies, whatever state it is in. */
const besideTheFile: ReadonlySet<FileTask['kind']> = new Set<FileTask['kind']>([
  'check pages',
  'copy beside import',
  'list copies',
  'check copy',
  'restore copy',
  'start empty',
  'support bundle',
  'rehearse restore',
  'second copy',
  'bench',
  'judge groups',
])

/**
 * Tasks that never write to the file, which may take long, on a drive that is slow or gone too: the file is tended
 * meanwhile.
 */
const apartFromTheFile: ReadonlySet<FileTask['kind']> = new Set<FileTask['kind']>([
  'rehearse restore',
  'second copy',
  'bench',
  'judge groups',
])

/** How many threads of this program work on a file. */
const atWork = new Map<string, number>()

const countWork = (file: string, more: number): void => {
  atWork.set(file, (atWork.get(file) ?? 0) + more)
}

/** Whether a thread of this program works on a file, and may write to it at any moment. */
export const isAtWork = (file: string): boolean => (atWork.get(file) ?? 0) > 0

/**
 * Does a task on a fleet file in a thread with a connection of its own. A task waits for the check of the file's pages
 * that is under way in this program, and then needs none of its own. onPart: is given what it answers in parts. Errors:
 * those of `doFileTask`; the signal's reason after a cancel.
 */
export async function inThread<T>(
  task: FileTask,
  { signal, onProgress, onPart }: ImportOptions & { readonly onPart?: (part: unknown) => void } = {},
): Promise<T> {
  const checked = besideTheFile.has(task.kind) ? false : await whenChecked(task.dbFile)
  signal?.throwIfAborted()
  // What it has read of the fleet answers the next question too.
  const knows = task.kind === 'bench' ? task.kind : undefined
  const worker = takeThread(knows)
  const order = (what: FileOrder) => worker.postMessage(what)
  const cancel = () => order('cancel')
  signal?.addEventListener('abort', cancel, { once: true })
  const { promise, resolve, reject } = Promise.withResolvers<T>()
  const counts = apartFromTheFile.has(task.kind) ? 0 : 1
  countWork(task.dbFile, counts)
  const listen = (message: FileMessage) => {
    if (message.kind === 'progress') {
      onProgress?.(message.progress)
      return
    }
    if (message.kind === 'part') {
      onPart?.(message.part)
      return
    }
    leave()
    giveThreadBack(worker, message.heapBytes, knows)
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
    countWork(task.dbFile, -counts)
    signal?.removeEventListener('abort', cancel)
    worker.off('message', listen).off('error', fail).off('exit', failAtExit)
  }
  worker.on('message', listen).on('error', fail).on('exit', failAtExit)
  order({ task, checked, speech: speechTag(speech()) })
  return await promise
}

export interface BringInOptions extends ImportOptions {
  /** Have the fleet assessed anew afterwards; the default. Without it the first look at the fleet does so. */
  readonly assess?: boolean
}

/**
 * Brings a fleet folder into a fleet file, made where there is none: all of it, or, when any row has a problem,
 * nothing. Runs in a thread with a connection of its own, then has the fleet assessed anew. A cancel leaves nothing of
 * the import.
 *
 * Errors: TarelineError `no-folder`, `locked` and those of `openStore`; the signal's reason after a cancel.
 */
export const bringInFolder = (
  dbFile: string,
  folder: string,
  { assess = true, by, ...options }: BringInOptions = {},
): Promise<ImportOutcome> => inThread<ImportOutcome>({ kind: 'import', dbFile, folder, assess, by }, options)

/**
 * Brings a foreign file in, likewise. Errors: TarelineError `no-file`, `too-large`, `too-many`, `locked` and those of
 * `openStore`; the signal's reason after a cancel.
 */
export const bringInForeign = (
  dbFile: string,
  file: ForeignFile,
  { by, ...options }: ImportOptions,
): Promise<ForeignOutcome> => inThread<ForeignOutcome>({ kind: 'import foreign', dbFile, file, by }, options)

/**
 * Writes a fleet file out as a fleet folder, in a thread with a connection of its own. Errors: those of `exportFolder`
 * and `openStore`.
 */
export const writeOutFolder = (dbFile: string, folder: string): Promise<ExportOutcome> =>
  inThread<ExportOutcome>({ kind: 'write out', dbFile, folder }, {})

/**
 * The cab cards of units at a time (ms UTC) as one PDF, made in a thread. Errors: TarelineError `no-such-unit`; those
 * of `openStore`.
 */
export const cabCardsInThread = (
  dbFile: string,
  units: readonly string[],
  at: number,
): Promise<Uint8Array<ArrayBuffer>> => inThread<Uint8Array<ArrayBuffer>>({ kind: 'cab cards', dbFile, units, at }, {})

/**
 * Brings everything that follows from the record up to it (now: ms UTC), in a thread with a connection of its own.
 * Errors: those of `openStore`; the signal's reason after a cancel.
 */
export const catchUpInThread = (dbFile: string, now: number, options: ImportOptions): Promise<void> =>
  inThread<void>({ kind: 'catch up', dbFile, now }, options)

/**
 * What a rule's change would do to the fleet on a day (ms UTC), judged in a thread without storing anything. Errors:
 * those of `openStore`; the signal's reason after a cancel.
 */
export const tryRuleInThread = (
  dbFile: string,
  rule: { readonly name: HouseRuleName; readonly value: number },
  asOf: number,
  signal: AbortSignal | undefined,
): Promise<RuleEffect> => inThread<RuleEffect>({ kind: 'try rule', dbFile, ...rule, asOf }, signal ? { signal } : {})

export interface ListedCopy extends CopyFacts {
  readonly name: string
  readonly reason: CopyReason
  readonly madeAt: string
}

/** Looks a fleet file over before it is opened, in a thread. Errors: those of `checkPages`. */
export const checkPagesInThread = (dbFile: string): Promise<Harm> => inThread<Harm>({ kind: 'check pages', dbFile })

/**
 * Keeps the day's copy where it is due, or one more; answers its path, null where there was one. Errors: those of
 * `keepCopy`.
 */
export const keepCopyInThread = (dbFile: string, reason: KeptFor): Promise<string | null> =>
  inThread<string | null>({ kind: 'keep copy', dbFile, reason })

/** Keeps a copy while an import writes to the file, and looks it over. Errors: those of `keepCopyBesideImport`. */
export const copyBesideImportInThread = (dbFile: string): Promise<Harm> =>
  inThread<Harm>({ kind: 'copy beside import', dbFile })

/**
 * Seals what was written to a file, with judgements and weights where `withMade` asks for it. Errors: those of
 * `openStore`.
 */
export const sealInThread = (dbFile: string, withMade: boolean): Promise<void> =>
  inThread<void>({ kind: 'seal', dbFile, withMade })

/** The copies of a file with what each holds, newest first. */
export const listCopiesInThread = (dbFile: string): Promise<ListedCopy[]> =>
  inThread<ListedCopy[]>({ kind: 'list copies', dbFile })

/** Reads a copy of a file through. Errors: TarelineError `no-such-copy`. */
export const checkCopyInThread = (dbFile: string, name: string): Promise<CopyVerdict> =>
  inThread<CopyVerdict>({ kind: 'check copy', dbFile, name })

/** Looks the open file over whole and notes what came of it. Errors: TarelineError `damaged`; those of `openStore`. */
export const checkFileInThread = (dbFile: string): Promise<CheckNote> =>
  inThread<CheckNote>({ kind: 'check file', dbFile })

/** Tries a restore of the newest copy out of the way of the file and notes what came of it; null: there is no copy. */
export const rehearseInThread = (dbFile: string): Promise<RehearsalNote | null> =>
  inThread<RehearsalNote | null>({ kind: 'rehearse restore', dbFile })

/** Brings the newest copy to the second place; null: there is none. Errors: those of `bringToSecondPlace`. */
export const secondCopyInThread = (dbFile: string, folder: string): Promise<Arrived | null> =>
  inThread<Arrived | null>({ kind: 'second copy', dbFile, folder })

/** Puts a copy in the place of a file that is not open here. Errors: those of `restoreCopy`. */
export const restoreInThread = (dbFile: string, from: CopySource, { isDamaged }: RestoreOptions): Promise<Restored> =>
  inThread<Restored>({ kind: 'restore copy', dbFile, from, isDamaged })

/** Moves a file that is not open here away and makes an empty one. Errors: those of `clearName` and `openStore`. */
export const startEmptyInThread = (dbFile: string, { isDamaged }: RestoreOptions): Promise<Restored> =>
  inThread<Restored>({ kind: 'start empty', dbFile, isDamaged })
