import type { CopyFacts, CopyVerdict } from '#core/api/copies-contract.ts'
import type { CopySource } from '#core/exchange/copy-task.ts'
import { inThread } from '#core/exchange/in-thread.ts'
import type { CopyReason } from '#core/store/copy-names.ts'
import type { Restored, RestoreOptions } from '#core/store/restore.ts'

export interface ListedCopy extends CopyFacts {
  readonly name: string
  readonly reason: CopyReason
  readonly madeAt: string
}

/** Reads every page of a fleet file once, in a thread. Errors: those of `checkPages`. */
export const checkPagesInThread = (dbFile: string): Promise<void> => inThread<void>({ kind: 'check pages', dbFile })

/**
 * Keeps the day's copy where it is due, or one more; answers its path, null where there was one. Errors: those of
 * `keepCopy`.
 */
export const keepCopyInThread = (dbFile: string, reason: 'day' | 'by-hand'): Promise<string | null> =>
  inThread<string | null>({ kind: 'keep copy', dbFile, reason })

/** The copies of a file with what each holds, newest first. */
export const listCopiesInThread = (dbFile: string): Promise<ListedCopy[]> =>
  inThread<ListedCopy[]>({ kind: 'list copies', dbFile })

/** Reads a copy of a file through. Errors: TarelineError `no-such-copy`. */
export const checkCopyInThread = (dbFile: string, name: string): Promise<CopyVerdict> =>
  inThread<CopyVerdict>({ kind: 'check copy', dbFile, name })

/** Puts a copy in the place of a file that is not open here. Errors: those of `restoreCopy`. */
export const restoreInThread = (dbFile: string, from: CopySource, { isDamaged }: RestoreOptions): Promise<Restored> =>
  inThread<Restored>({ kind: 'restore copy', dbFile, from, isDamaged })

/** Moves a file that is not open here away and makes an empty one. Errors: those of `clearName` and `openStore`. */
export const startEmptyInThread = (dbFile: string, { isDamaged }: RestoreOptions): Promise<Restored> =>
  inThread<Restored>({ kind: 'start empty', dbFile, isDamaged })
