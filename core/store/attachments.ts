import { phrase } from '#core/words/phrase.ts'
import type Database from 'better-sqlite3'
import { createHash } from 'node:crypto'
import { copyFileSync, existsSync, mkdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { copiesFolder } from '#core/store/copy-names.ts'
import { syncFile, syncFolder, unfinishedName } from '#core/store/whole-copy.ts'
import { TarelineError } from '#core/words/problem.ts'

/**
 * Attachments lie as files beside the fleet file, each named by the SHA-256 of its bytes: `NAME files/ab/abcd…`. A file
 * is never changed and never removed, so that every copy of the database finds those it names; a row is written only
 * once its file is there.
 */
export const attachmentsFolder = (file: string): string => join(dirname(file), `${basename(file)} files`)

/** The attachments that all copies of a file share: each lies there once, apart from the folder that is in use. */
export const copiedAttachmentsFolder = (file: string): string => join(copiesFolder(file), 'files')

interface Attachment {
  readonly sha256: string
  readonly bytes: number
}

/** The attachments that a database names. */
const listKeptAttachments = (raw: Database.Database): Attachment[] =>
  raw.prepare('select sha256, size_bytes as bytes from attachment order by sha256').all() as Attachment[]

export const attachmentPath = (folder: string, sha256: string): string => join(folder, sha256.slice(0, 2), sha256)

export const hashOf = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex')

/** Puts a file in place whole or not at all. */
function place(path: string, write: (unfinished: string) => void): void {
  mkdirSync(dirname(path), { recursive: true })
  const unfinished = unfinishedName(path)
  try {
    write(unfinished)
    syncFile(unfinished)
    renameSync(unfinished, path)
    syncFolder(dirname(path))
  } finally {
    rmSync(unfinished, { force: true })
  }
}

/** Whether an attachment lies in a folder; by its size, or by every byte. */
function isThere(folder: string, { sha256, bytes }: Attachment, how: 'size' | 'bytes'): boolean {
  const path = attachmentPath(folder, sha256)
  if (statSync(path, { throwIfNoEntry: false })?.size !== bytes) return false
  return how === 'size' || hashOf(readFileSync(path)) === sha256
}

/**
 * Keeps bytes as an attachment of a fleet file; one that is missing or damaged is thereby mended. Answers its SHA-256,
 * by which a row names it from then on.
 */
export function keepAttachment(file: string, bytes: Uint8Array): string {
  const sha256 = hashOf(bytes)
  const folder = attachmentsFolder(file)
  if (!isThere(folder, { sha256, bytes: bytes.byteLength }, 'bytes'))
    place(attachmentPath(folder, sha256), (unfinished) => writeFileSync(unfinished, bytes))
  return sha256
}

/** The bytes of an attachment that a row names. Errors: TarelineError `attachment-missing`, `attachment-damaged`. */
export function readAttachment(
  file: string,
  { sha256, name }: { readonly sha256: string; readonly name: string },
): Buffer<ArrayBuffer> {
  const path = attachmentPath(attachmentsFolder(file), sha256)
  const mend = phrase('Restore the newest copy, which puts it back, or add the file again.')
  let bytes: Buffer<ArrayBuffer>
  try {
    bytes = readFileSync(path)
  } catch (error) {
    throw new TarelineError(
      'attachment-missing',
      phrase('{name} cannot be read from the folder “{file} files” beside the fleet file. {mend}', {
        name,
        file: basename(file),
        mend,
      }),
      { cause: error },
    )
  }
  if (hashOf(bytes) !== sha256)
    throw new TarelineError(
      'attachment-damaged',
      phrase('{name} is damaged: its bytes are no longer those that were added. {mend}', { name, mend }),
    )
  return bytes
}

/** The attachments that a database names and none of the folders holds byte for byte. */
export const missingAttachments = (raw: Database.Database, folders: readonly string[]): string[] =>
  listKeptAttachments(raw)
    .filter((attachment) => !folders.some((folder) => isThere(folder, attachment, 'bytes')))
    .map(({ sha256 }) => sha256)

/**
 * Copies the attachments that a database names into a folder, from the first of others that holds them byte for byte;
 * those only that are not there, which is told by their size, or by every byte as well. Answers those that cannot be
 * had.
 */
export function copyAttachments(
  raw: Database.Database,
  from: readonly string[],
  to: string,
  how: 'size' | 'bytes' = 'size',
): string[] {
  return listKeptAttachments(raw)
    .filter((attachment) => {
      if (isThere(to, attachment, how)) return false
      const source = from.find((folder) => existsSync(folder) && isThere(folder, attachment, 'bytes'))
      if (source)
        place(attachmentPath(to, attachment.sha256), (unfinished) =>
          copyFileSync(attachmentPath(source, attachment.sha256), unfinished),
        )
      return source === undefined
    })
    .map(({ sha256 }) => sha256)
}

/**
 * Puts the attachments that a fleet file, or a copy of it, names among those that its copies share. Answers those that
 * cannot be had.
 */
export const shareWithCopies = (raw: Database.Database, file: string): string[] =>
  copyAttachments(raw, [attachmentsFolder(file)], copiedAttachmentsFolder(file))
