import { existsSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { TarelineError } from '#core/fleet/problem.ts'
import { attachmentsFolder, copiedAttachmentsFolder, copyAttachments } from '#core/store/attachments.ts'
import type { Store } from '#core/store/open.ts'
import { writeWholeCopy, type WholeCopy } from '#core/store/whole-copy.ts'

export interface Backup extends WholeCopy {
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
    throw new TarelineError('file-exists', `${to} exists already. Name a new file for the copy of ${file}.`)
  if (!existsSync(dirname(to)))
    throw new TarelineError('no-folder', `${dirname(to)} does not exist. Name a folder that does.`)
  let missing: string[] = []
  const copy = await writeWholeCopy(raw, file, to, (copied) => {
    missing = copyAttachments(copied, [attachmentsFolder(file), copiedAttachmentsFolder(file)], attachmentsFolder(to))
  })
  return { file: to, ...copy, missing }
}
