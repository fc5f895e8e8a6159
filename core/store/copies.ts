import { phrase } from '#core/words/phrase.ts'
import type Database from 'better-sqlite3'
import { existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import {
  attachmentsFolder,
  copiedAttachmentsFolder,
  copyAttachments,
  shareWithCopies,
} from '#core/store/attachments.ts'
import { noteCheck } from '#core/store/care-notes.ts'
import { timeNow } from '#core/store/clock.ts'
import {
  type CopyName,
  type CopyReason,
  copiesFolder,
  copiesToRemove,
  copyName,
  isDayCopyDue,
  readCopyName,
} from '#core/store/copy-names.ts'
import { recordMark } from '#core/store/file-facts.ts'
import { openToLook, withLook } from '#core/store/look.ts'
import { type Harm, isHarm, wordsOf } from '#core/store/look-over.ts'
import type { Store } from '#core/store/open.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { type WholeCopy, sweepUnfinished, writeWholeCopy } from '#core/store/whole-copy.ts'
import { zoneOf } from '#core/store/zone.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'

/** The copies kept of a fleet file, newest first; none where there is no such folder. */
export const listCopyNames = (file: string): CopyName[] => copyNamesIn(copiesFolder(file))

/** The same of any folder that holds copies. */
export function copyNamesIn(folder: string): CopyName[] {
  if (!existsSync(folder)) return []
  return readdirSync(folder)
    .flatMap((name) => readCopyName(name) ?? [])
    .sort((a, b) => b.sequence - a.sequence || (b.at ?? 0) - (a.at ?? 0))
}

/** A name for the next copy of a file, in its copies folder, which is made where it is missing. */
export function nextCopy(file: string, reason: CopyReason, now: number): string {
  const folder = copiesFolder(file)
  mkdirSync(folder, { recursive: true })
  const sequence = 1 + Math.max(0, ...listCopyNames(file).map((copy) => copy.sequence))
  return join(folder, copyName(sequence, reason, now))
}

/** Lets those copies go that later ones have made needless, and what was left of copies that never came to an end. */
function thinCopies(file: string, zone: string): void {
  const folder = copiesFolder(file)
  for (const name of copiesToRemove(listCopyNames(file), zone)) rmSync(join(folder, name), { force: true })
  sweepUnfinished(folder)
}

/**
 * Keeps a copy of an open database, complete with what is still in its write-ahead log and with the attachments it
 * names, in its copies folder; answers the copy's path. Older copies go only after it is there. The file is looked over
 * whole for it, which is noted. Errors: those of `writeWholeCopy`.
 */
export const keepCopy = async (
  raw: Database.Database,
  file: string,
  reason: CopyReason,
  now = timeNow(),
): Promise<string> => (await keepAndLook(raw, file, reason, now)).copy

interface LookedOver {
  readonly copy: string
  /** What the copy was made anew in, and the file too where it may be written. */
  readonly harm: Harm
}

async function keepAndLook(raw: Database.Database, file: string, reason: CopyReason, now: number): Promise<LookedOver> {
  const copy = nextCopy(file, reason, now)
  const check = { at: toStoredInstant(now), by: 'copy' } as const
  try {
    const { harm } = await writeWholeCopy(raw, file, copy, (copied) => shareWithCopies(copied, file))
    noteCheck(file, { ...check, outcome: isHarm(harm) ? 'mended' : 'whole', found: wordsOf(harm) })
    thinCopies(file, zoneOf(raw))
    return { copy, harm }
  } catch (error) {
    if (error instanceof TarelineError && error.code === 'damaged')
      noteCheck(file, { ...check, outcome: 'harmed', found: [error.message] })
    // Another import of the same millisecond was first; the number after its copy is free.
    if (error instanceof TarelineError && error.code === 'file-exists') return await keepAndLook(raw, file, reason, now)
    throw error
  }
}

const isBlank = (raw: Database.Database): boolean => raw.prepare('select revision from ledger').pluck().get() === 0

/**
 * Keeps the day's copy unless there is one, or nothing to copy yet; answers its path or null. Errors: those of
 * `writeWholeCopy`.
 */
export async function keepDayCopy(raw: Database.Database, file: string, now = timeNow()): Promise<string | null> {
  return !isBlank(raw) && isDayCopyDue(listCopyNames(file), now, zoneOf(raw))
    ? await keepCopy(raw, file, 'day', now)
    : null
}

/** The record's mark in a copy; undefined where the copy cannot say. */
function markOfCopy(copy: string): string | undefined {
  try {
    return withLook(copy, recordMark)
  } catch (error) {
    if (faultOf(error) === undefined) throw error
    return undefined
  }
}

/**
 * Whether an import is to be preceded by a copy. A record that holds nothing yet needs none, nor does one whose newest
 * copy has it as it stands: imports that come to nothing push no older copy out.
 */
export function isCopyDueBeforeImport(raw: Database.Database, file: string): boolean {
  if (isBlank(raw)) return false
  const [newest] = listCopyNames(file)
  return !newest || markOfCopy(join(copiesFolder(file), newest.name)) !== recordMark(raw)
}

/**
 * Keeps a copy of what is saved in a file, through a connection of its own that changes nothing of the file, whatever
 * an import is writing meanwhile. Answers what of the file is damaged and is to be made anew. Errors: those of
 * `writeWholeCopy`.
 */
export async function keepCopyBesideImport(file: string, now = timeNow()): Promise<Harm> {
  const raw = openToLook(file)
  try {
    return (await keepAndLook(raw, file, 'before-import', now)).harm
  } finally {
    raw.close()
  }
}

export interface Backup extends Pick<WholeCopy, 'tables' | 'rows'> {
  readonly file: string
  /** Attachments that the record names and that are not there to be copied, by SHA-256. */
  readonly missing: readonly string[]
}

/**
 * Copies the open file to `name`, checked, and never in the place of another file; its attachments go into the folder
 * `NAME files` beside the copy.
 *
 * Errors: TarelineError `file-exists`, `no-folder` and those of `writeWholeCopy`.
 */
export async function backupStore({ raw, file }: Store, name: string): Promise<Backup> {
  const to = resolve(name)
  if (existsSync(to))
    throw new TarelineError(
      'file-exists',
      phrase('{to} exists already. Name a new file for the copy of {file}.', { to, file }),
    )
  if (!existsSync(dirname(to)))
    throw new TarelineError('no-folder', phrase('{to} does not exist. Name a folder that does.', { to: dirname(to) }))
  let missing: string[] = []
  const { tables, rows } = await writeWholeCopy(raw, file, to, (copied) => {
    missing = copyAttachments(copied, [attachmentsFolder(file), copiedAttachmentsFolder(file)], attachmentsFolder(to))
  })
  return { file: to, tables, rows, missing }
}
