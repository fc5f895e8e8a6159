import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, readdirSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { csvRow } from '#core/exchange/csv-text.ts'
import { allFolderFiles, columnsOf } from '#core/exchange/folder-files.ts'
import { attachmentsFolderName, type AttachmentType, endingOf } from '#core/fleet/attachment-file.ts'
import { beginsAsFormula } from '#core/fleet/formula-text.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { readAttachment } from '#core/store/attachments.ts'
import type { FolderReader } from '#core/store/folder-rows.ts'

const writtenName = /^[0-9a-f]{64}\.(jpg|png|pdf)$/

/** A file in a folder's `attachments` that no export wrote; undefined where there is none. */
export function strangeAttachment(folder: string): string | undefined {
  const inner = join(folder, attachmentsFolderName)
  if (!existsSync(inner)) return undefined
  if (!statSync(inner).isDirectory()) return attachmentsFolderName
  const stranger = readdirSync(inner).find((name) => !writtenName.test(name))
  return stranger === undefined ? undefined : `${attachmentsFolderName}/${stranger}`
}

function writeSynced(path: string, content: string | Uint8Array): void {
  const file = openSync(path, 'wx')
  try {
    writeFileSync(file, content)
    fsyncSync(file)
  } finally {
    closeSync(file)
  }
}

/**
 * Writes the attachments of the tickets and the list of them; nothing where there are none. Each file lies there once,
 * by its hash, however many tickets have it. One that is missing or damaged is left out with its rows, and told by a
 * sentence, so that the folder can be brought in.
 */
export function writeAttachments(
  reader: FolderReader,
  dbFile: string,
  folder: string,
): { rows: number; leftOut: string[]; formulaTexts: number } {
  let formulaTexts = 0
  const leftOut = new Map<string, string>()
  const written = new Set<string>()
  const rows: string[] = []
  for (const [scale, ticket, sha256, type, name] of reader.rows('attachments') as IterableIterator<
    [string, string, string, AttachmentType, string]
  >) {
    const file = `${attachmentsFolderName}/${sha256}${endingOf(type)}`
    if (!written.has(sha256) && !leftOut.has(sha256)) {
      try {
        const bytes = readAttachment(dbFile, { sha256, name })
        mkdirSync(join(folder, attachmentsFolderName), { recursive: true })
        writeSynced(join(folder, file), bytes)
        written.add(sha256)
      } catch (error) {
        if (!(error instanceof TarelineError)) throw error
        leftOut.set(sha256, `Left out, ticket ${ticket} of ${scale}: ${error.message}`)
      }
    }
    if (!written.has(sha256)) continue
    rows.push(csvRow([scale, ticket, file, sha256, name]))
    formulaTexts += [scale, ticket, name].filter(beginsAsFormula).length
  }
  if (rows.length > 0)
    writeSynced(
      join(folder, allFolderFiles.attachments.file),
      csvRow(columnsOf('attachments').map(([column]) => column)) + rows.join(''),
    )
  return { rows: rows.length, leftOut: [...leftOut.values()], formulaTexts }
}
