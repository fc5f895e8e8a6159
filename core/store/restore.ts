import { phrase } from '#core/words/phrase.ts'
import Database from 'better-sqlite3'
import { existsSync, mkdirSync, readdirSync, renameSync, statSync } from 'node:fs'
import { basename, dirname, extname, join, resolve } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import {
  attachmentsFolder,
  copiedAttachmentsFolder,
  copyAttachments,
  shareWithCopies,
} from '#core/store/attachments.ts'
import { noteCheck } from '#core/store/care-notes.ts'
import { timeNow } from '#core/store/clock.ts'
import { nextCopy } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { openToLook, withLook, isMarkedOurs, stepOf } from '#core/store/look.ts'
import { latestStep } from '#core/store/open.ts'
import { faultOf, openingError } from '#core/store/sqlite-fault.ts'
import { publish, removeDatabase, syncFolder, writeWholeCopy } from '#core/store/whole-copy.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'

const sideEnds = ['-wal', '-shm', '-journal'] as const
const usualPatienceMs = 10_000
const pauseMs = 200

/** `fleet (set aside 2026-11-25T221002).tareline`, beside the file. */
function setAsideName(file: string, now: number): string {
  const end = extname(file)
  const stamp = new Date(now).toISOString().slice(0, 19).replaceAll(':', '')
  for (let again = 0; ; again += 1) {
    const path = join(
      dirname(file),
      `${basename(file, end)} (set aside ${stamp}${again === 0 ? '' : ` ${again}`})${end}`,
    )
    if (!existsSync(path)) return path
  }
}

/** The file set aside last that came without its log, as when the program was ended between the two. */
function setAsideWithoutLog(file: string): string | undefined {
  const end = extname(file)
  const begin = `${basename(file, end)} (set aside `
  const names = readdirSync(dirname(file))
    .filter((name) => name.startsWith(begin) && name.endsWith(`)${end}`))
    .sort()
  return names
    .map((name) => join(dirname(file), name))
    .filter((path) => sideEnds.every((side) => !existsSync(path + side)))
    .at(-1)
}

/**
 * Gives a damaged file, and the log and journal that belong to it, another name beside it; what lies in them is not
 * touched. The file goes first: without its log it could pass for whole. Answers the new name, or null where nothing
 * was there.
 */
function setAside(file: string, now: number): string | null {
  const main = existsSync(file)
  const sides = sideEnds.filter((side) => existsSync(file + side))
  if (!main && sides.length === 0) return null
  const to = (main ? undefined : setAsideWithoutLog(file)) ?? setAsideName(file, now)
  if (main) renameSync(file, to)
  for (const side of sides) renameSync(file + side, to + side)
  syncFolder(dirname(file))
  return existsSync(to) ? to : `${to}${sides[0]}`
}

/**
 * Makes one file of a sound database and its log, which only its sole user can; false where it turns out to be no sound
 * one.
 * Errors: TarelineError `locked` and those of `openStore`.
 */
async function makeOne(file: string, patienceMs = usualPatienceMs): Promise<boolean> {
  const until = performance.now() + patienceMs
  for (;;) {
    const raw = new Database(file, { fileMustExist: true, timeout: 1000 })
    try {
      if (raw.pragma('journal_mode = DELETE', { simple: true }) === 'delete') return true
    } catch (error) {
      const fault = faultOf(error)
      if (fault === 'damaged' || fault === 'not-a-database') return false
      if (fault !== 'locked') throw openingError(error, file)
      if (performance.now() > until) {
        throw new TarelineError(
          'locked',
          phrase(
            '{file} is in use: another window or program has it open, or a task of this one is not done yet. Nothing was changed. Close the others, then restore again.',
            { file },
          ),
          { cause: error },
        )
      }
    } finally {
      raw.close()
    }
    await setTimeout(pauseMs)
  }
}

interface Beside {
  /** Of a whole copy that has no name of its own yet. */
  readonly path: string
  readonly missingAttachments: number
}

/** Where the attachments of a copy lie: shared with the others of its copies folder, or with it alone. */
export const attachmentsOfCopy = (copy: string): string[] => [join(dirname(copy), 'files'), attachmentsFolder(copy)]

/** Puts back those of a copy's attachments that are gone; answers how many are nowhere to be found. */
const putBack =
  (copy: string, file: string) =>
  (copied: Database.Database): number =>
    copyAttachments(
      copied,
      [copiedAttachmentsFolder(file), ...attachmentsOfCopy(copy)],
      attachmentsFolder(file),
      'bytes',
    ).length

/**
 * Writes a copy that is ours and whole beside the file, under a name of its own. attachments: sees to those that the
 * copy names, and answers how many are nowhere to be found.
 */
export async function bringBeside(
  copy: string,
  file: string,
  attachments: (copied: Database.Database) => number,
): Promise<Beside> {
  if (!existsSync(copy))
    throw new TarelineError('no-such-copy', phrase('{copy} is no longer there. Choose another copy.', { copy }))
  const beside = join(dirname(file), `.${process.pid}-${process.hrtime.bigint()}.unfinished-restore`)
  let raw: Database.Database | undefined
  try {
    raw = openToLook(copy)
    if (!isMarkedOurs(raw))
      throw new TarelineError(
        'not-a-database',
        phrase('{copy} is not a Tareline database. Choose a copy of a fleet file.', { copy }),
      )
    if (stepOf(raw) > latestStep)
      throw new TarelineError(
        'newer',
        phrase('{copy} was written by a newer version of Tareline. Install the newer version, then restore it.', {
          copy,
        }),
      )
    let missingAttachments = 0
    await writeWholeCopy(raw, copy, beside, (copied) => {
      missingAttachments = attachments(copied)
    })
    return { path: beside, missingAttachments }
  } catch (error) {
    const fault = error instanceof TarelineError ? error.code : faultOf(error)
    if (fault === 'damaged' || fault === 'damaged-copy')
      throw new TarelineError(
        'copy-damaged',
        phrase('The copy {copy} is damaged itself. Nothing was changed. Choose another copy.', {
          copy: basename(copy),
        }),
        { cause: error },
      )
    throw openingError(error, copy)
  } finally {
    raw?.close()
  }
}

export interface Restored {
  /** Where what lay under the name before is now; null where nothing did. */
  readonly keptAs: string | null
  /** How many attachments the restored record names that are neither beside it nor among the copies. */
  readonly missingAttachments: number
}

export interface RestoreOptions {
  /** Whether the file that is replaced is known to be damaged: then it is set aside as it is, not even opened. */
  readonly isDamaged: boolean
  readonly now?: number
  /** How long others are waited for who have the file open, ms. */
  readonly patienceMs?: number
}

/**
 * Puts the attachments of a file that is to become a copy among those of the copies. A file of another program, or a
 * newer version, is left as it is.
 */
function keepItsAttachments(file: string): void {
  try {
    withLook(file, (raw) => {
      if (isMarkedOurs(raw) && stepOf(raw) <= latestStep) shareWithCopies(raw, file)
    })
  } catch (error) {
    throw openingError(error, file)
  }
}

/** Makes room under the name: a sound file becomes the copy `before-restore`, a damaged one is set aside. */
async function moveAway(
  file: string,
  { isDamaged, now = timeNow(), patienceMs }: RestoreOptions,
): Promise<string | null> {
  const isEmpty = !existsSync(file) || statSync(file).size === 0
  if (isDamaged || isEmpty || !(await makeOne(file, patienceMs))) return setAside(file, now)
  const to = nextCopy(file, 'before-restore', now)
  keepItsAttachments(file)
  renameSync(file, to)
  syncFolder(dirname(to))
  syncFolder(dirname(file))
  return to
}

/**
 * Puts a copy in the place of a fleet file that nobody has open. The copy is written whole and checked beside it first,
 * and those of its attachments that are gone are put back; what lay there is kept under another name, never
 * overwritten. Ended at any moment, the old file or the copy lies under the name, or for an instant nothing, and
 * nothing is lost.
 *
 * Errors: TarelineError `no-such-copy`, `copy-damaged`, `not-a-database`, `newer`, `locked`, `disk-full`, `read-only`;
 * then nothing was changed.
 */
export async function restoreCopy(name: string, copy: string, options: RestoreOptions): Promise<Restored> {
  const file = resolve(name)
  mkdirSync(copiesFolder(file), { recursive: true })
  const from = resolve(copy)
  const { path, missingAttachments } = await bringBeside(from, file, putBack(from, file))
  try {
    const keptAs = await moveAway(file, options)
    publish(path, file)
    noteCheck(file, { at: toStoredInstant(options.now ?? timeNow()), by: 'restore', outcome: 'whole', found: [] })
    return { keptAs, missingAttachments }
  } finally {
    removeDatabase(path)
  }
}

/**
 * Moves what lies under a name away, so that a new file can be made there. Errors: TarelineError `locked`, `read-only`.
 */
export async function clearName(name: string, options: RestoreOptions): Promise<Restored> {
  const file = resolve(name)
  mkdirSync(copiesFolder(file), { recursive: true })
  return { keptAs: await moveAway(file, options), missingAttachments: 0 }
}
