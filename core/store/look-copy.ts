import { phrase } from '#core/words/phrase.ts'
import { existsSync, rmSync, statSync, symlinkSync } from 'node:fs'
import { chmod, copyFile } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { attachmentsFolder } from '#core/store/attachments.ts'
import type { Store } from '#core/store/open.ts'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { TarelineError } from '#core/words/problem.ts'

/** Why a file is not opened for changes that may only be read, and what can be done with it. */
export const notWritable = (file: string): TarelineError =>
  new TarelineError(
    'read-only',
    phrase(
      '{file} cannot be changed: it, its folder or its disk is read-only for this account. It can be opened to look at it; nothing can be saved then.',
      { file },
    ),
  )

/** The one sentence for whatever somebody wants to save while a file is open to look at. */
export const lookOnlyError = (): TarelineError =>
  new TarelineError(
    'look-only',
    phrase(
      'This file is open to look at only: nothing was saved, and nothing can be. To work on it, copy it to a folder that you may change and open that copy.',
    ),
  )

/** Errors: TarelineError `look-only`. */
export function refuseIfToLook({ lookOnly }: Store): void {
  if (lookOnly) throw lookOnlyError()
}

/** A copy of a file for one who looks at it, as the file was at a moment. */
export interface LookCopy {
  readonly original: string
  /** The copy. */
  readonly file: string
  /** ms UTC. */
  readonly at: number
  remove(): void
}

const sideEnds = ['', '-wal', '-journal'] as const

/** A mark that is another one once somebody has written to the file. */
const writtenMark = (file: string): string =>
  sideEnds
    .map((end) => statSync(file + end, { bigint: true, throwIfNoEntry: false }))
    .map((found) => (found ? `${found.size} ${found.mtimeNs}` : ''))
    .join(', ')

const mostTries = 5

function copyError(error: unknown, file: string, folder: string): unknown {
  const cause = { cause: error }
  const fault = faultOf(error)
  if (fault === 'disk-full')
    return new TarelineError(
      'disk-full',
      phrase('There is no room in {folder} for what is needed to look at {file}. Free some space on that disk.', {
        folder,
        file,
      }),
      cause,
    )
  if (fault === 'read-only')
    return new TarelineError(
      'cannot-open',
      phrase('{file} cannot be read by this account. Ask its owner for the right to read it.', { file }),
      cause,
    )
  return error
}

/**
 * Copies a file that may only be read, with its log, into a folder of this run: SQLite reads none that it may not put
 * its own files beside, and one of an old step, or cut off in a change, must be written to before it can be read.
 * Attachments are read where they are. Errors: TarelineError `disk-full`, `cannot-open`, `busy`; the system's.
 */
export async function makeLookCopy(original: string, now: number): Promise<LookCopy> {
  const folder = makeRunFolder('look')
  const remove = () => rmSync(folder, { recursive: true, force: true })
  const file = join(folder, basename(original))
  try {
    for (let tries = 0; ; tries += 1) {
      const before = writtenMark(original)
      for (const end of sideEnds) {
        rmSync(file + end, { force: true })
        if (!existsSync(original + end)) continue
        await copyFile(original + end, file + end)
        // A copy has the rights of what it is a copy of.
        await chmod(file + end, 0o600)
      }
      if (writtenMark(original) === before) break
      if (tries === mostTries)
        throw new TarelineError(
          'busy',
          phrase('{original} is being written to by another program all the time. Look at it once that is done.', {
            original,
          }),
        )
    }
    const attachments = attachmentsFolder(original)
    if (existsSync(attachments)) symlinkSync(attachments, attachmentsFolder(file), 'junction')
    return { original, file, at: now, remove }
  } catch (error) {
    remove()
    throw copyError(error, original, folder)
  }
}
