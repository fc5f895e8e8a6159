import { phrase } from '#core/words/phrase.ts'
import { createHash } from 'node:crypto'
import { closeSync, copyFileSync, existsSync, mkdirSync, openSync, readSync, rmSync, statSync } from 'node:fs'
import { basename, dirname, join, relative, resolve } from 'node:path'
import { attachmentsFolder, copiedAttachmentsFolder, copyAttachments } from '#core/store/attachments.ts'
import { copyNamesIn, listCopyNames } from '#core/store/copies.ts'
import { type CopyName, copiesFolder, copiesToRemove, copyName } from '#core/store/copy-names.ts'
import { withLook } from '#core/store/look.ts'
import { faultOfMaking } from '#core/store/sqlite-fault.ts'
import { publish, sweepUnfinished, syncFile, unfinishedName } from '#core/store/whole-copy.ts'
import { zoneOf } from '#core/store/zone.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'

/**
 * A second place for the copies of a fleet file: a folder that a person chose, on another disk or drive. What goes
 * there is the newest copy that was kept beside the file, so that a drive that is slow, or gone, keeps nobody from
 * saving.
 */

/**
 * The folder within a chosen one. It is made when the place is chosen and never again: one that is not there is a drive
 * that is not there.
 */
const folderIn = (chosen: string, file: string): string => join(chosen, basename(copiesFolder(file)))

export interface Arrived {
  readonly name: string
  /** When the copy was made, stored instant. */
  readonly madeAt: string
}

/** What hinders at a place, in a sentence; undefined where the error tells of no place. */
function sentenceOf(error: unknown, place: string, folder = place): TarelineError | undefined {
  if (error instanceof TarelineError) return error
  const cause = { cause: error }
  const fault = faultOfMaking(error, folder)
  if (fault === 'disk-full')
    return new TarelineError(
      'disk-full',
      phrase('There is no room for the copy in {place}. Free some space there, or choose another place.', { place }),
      cause,
    )
  if (fault === 'read-only')
    return new TarelineError(
      'read-only',
      phrase('Nothing can be written to {place}: it is write-protected, or this account may not change it.', { place }),
      cause,
    )
  if (fault === 'cannot-open') return missing(place, error)
  // Nothing but the copy beside the file is opened as a database.
  if (fault === 'damaged' || fault === 'not-a-database')
    return new TarelineError(
      'damaged-copy',
      phrase(
        'The newest copy beside the file is damaged, so that it is not brought anywhere. Make another copy, and check the disk.',
      ),
      cause,
    )
  const code = codeOf(error)
  if (code === undefined) return undefined
  return new TarelineError(
    'disk-error',
    phrase('{place} does not answer as it should ({code}). Check the drive, its cable or the network.', {
      place,
      code,
    }),
    cause,
  )
}

const missing = (place: string, cause?: unknown): TarelineError =>
  new TarelineError(
    'no-folder',
    phrase(
      '{place} is not there: the drive may be unplugged, or the network away. Connect it again, or choose another place.',
      { place },
    ),
    { cause },
  )

/**
 * Does what has to do with a place; what it fails by is said in a sentence about that place. folder: to be made in it.
 */
function at<T>(place: string, work: () => T, folder = place): T {
  try {
    return work()
  } catch (error) {
    throw sentenceOf(error, place, folder) ?? error
  }
}

/**
 * Makes a chosen folder ready for the copies of a file. Errors: TarelineError `no-folder`, `same-place`, `read-only`,
 * `disk-full`, `disk-error`.
 */
export function prepareSecondPlace(file: string, chosen: string): void {
  const beside = copiesFolder(resolve(file))
  if (resolve(chosen) === dirname(beside) || !relative(beside, resolve(chosen)).startsWith('..'))
    throw new TarelineError(
      'same-place',
      phrase('{chosen} is where the file and its copies lie already. Choose a folder on another disk or drive.', {
        chosen,
      }),
    )
  const place = folderIn(chosen, file)
  at(
    chosen,
    () => {
      if (!statSync(chosen).isDirectory())
        throw new TarelineError(
          'no-folder',
          phrase('{chosen} is a file. Choose a folder, or the letter of a drive.', { chosen }),
        )
      mkdirSync(place, { recursive: true })
    },
    existsSync(chosen) ? place : chosen,
  )
}

const chunkBytes = 4 * 1024 ** 2

function digestOf(path: string): string {
  const hash = createHash('sha256')
  const chunk = Buffer.alloc(chunkBytes)
  const handle = openSync(path, 'r')
  try {
    for (;;) {
      const bytes = readSync(handle, chunk)
      if (bytes === 0) return hash.digest('hex')
      hash.update(chunk.subarray(0, bytes))
    }
  } finally {
    closeSync(handle)
  }
}

/** On a drive that is gone by now nothing can be removed; what was left is swept once it is back. */
function removeIfPossible(path: string): void {
  try {
    rmSync(path, { force: true })
  } catch {
    // As said.
  }
}

/** Writes a copy beside its name, has the disk keep it, reads it back, and only then gives it its name. */
function carry(from: string, to: string): void {
  const unfinished = unfinishedName(to)
  try {
    copyFileSync(from, unfinished)
    syncFile(unfinished)
    if (digestOf(unfinished) !== digestOf(from))
      throw new TarelineError(
        'damaged-copy',
        phrase('The copy came out damaged in {to} and was removed. The drive may be failing: choose another.', {
          to: dirname(to),
        }),
      )
    publish(unfinished, to)
  } finally {
    removeIfPossible(unfinished)
  }
}

const isSameCopy = (a: CopyName, b: CopyName): boolean => a.at !== null && a.at === b.at && a.reason === b.reason

/**
 * Brings the newest copy of a file, with its attachments, to the second place, unless it is there; older ones go from
 * there as they do beside the file. Null: there is no copy yet. Errors: TarelineError `no-folder`, `disk-full`,
 * `read-only`, `disk-error`, `damaged-copy`.
 */
export function bringToSecondPlace(file: string, chosen: string): Arrived | null {
  const newest = listCopyNames(file).find(({ at: madeAt }) => madeAt !== null)
  if (newest?.at == null) return null
  const madeAt = toStoredInstant(newest.at)
  const place = folderIn(chosen, file)
  if (!existsSync(place)) throw missing(place)
  return at(place, () => {
    const there = copyNamesIn(place)
    const known = there.find((each) => isSameCopy(each, newest))
    if (known) return { name: known.name, madeAt }
    const from = join(copiesFolder(file), newest.name)
    // Numbered as they come there: a file that was begun anew counts from one again.
    const name = copyName(1 + Math.max(0, ...there.map(({ sequence }) => sequence)), newest.reason, newest.at ?? 0)
    const zone = withLook(from, (raw) => {
      copyAttachments(raw, [copiedAttachmentsFolder(file), attachmentsFolder(file)], join(place, 'files'))
      return zoneOf(raw)
    })
    carry(from, join(place, name))
    for (const old of copiesToRemove(copyNamesIn(place), zone)) rmSync(join(place, old), { force: true })
    sweepUnfinished(place)
    return { name, madeAt }
  })
}

/** Whether a second place lies on the disk of the file itself; null where that cannot be told. */
export function isOnSameDisk(file: string, chosen: string): boolean | null {
  try {
    return statSync(folderIn(chosen, file)).dev === statSync(file).dev
  } catch {
    return null
  }
}
