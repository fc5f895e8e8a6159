import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { basename, dirname, join, resolve } from 'node:path'
import { csvRow } from '#core/exchange/csv-records.ts'
import {
  allFolderFiles,
  columnsOf,
  folderFileNames,
  folderFiles,
  writtenWhereKnown,
} from '#core/exchange/folder-files.ts'
import { readAttachment } from '#core/store/attachments.ts'
import { type FolderReader, openFolderReader } from '#core/store/folder-ledger.ts'
import type { Store } from '#core/store/open.ts'
import { type AttachmentType, attachmentsFolderName, endingOf } from '#core/words/attachment-file.ts'
import { TarelineError } from '#core/words/problem.ts'
import { beginsAsFormula } from '#core/words/text.ts'

const writtenName = /^[0-9a-f]{64}\.(jpg|png|pdf)$/

/** A file in a folder's `attachments` that no export wrote; undefined where there is none. */
function strangeAttachment(folder: string): string | undefined {
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
function writeAttachments(
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

export interface ExportOutcome {
  readonly folder: string
  readonly files: { readonly file: string; readonly rows: number }[]
  /**
   * Texts that begin as a spreadsheet's formula does: kept as they are, since the folder must bring in what was written
   * out.
   */
  readonly formulaTexts: number
  /** A sentence for each attachment that is missing or damaged and so could not be written. */
  readonly leftOut: string[]
}

const blockCharacters = 1 << 20

/**
 * Writes one file with its header and all its rows; returns how many rows, and how many of their texts look like
 * formulas.
 */
function writeFile(
  reader: FolderReader,
  name: keyof typeof folderFiles,
  path: string,
): { rows: number; formulaTexts: number } {
  const isWritten = (column: string) => column !== writtenWhereKnown || reader.namesDrivers(name)
  const columns = columnsOf(name).filter(([column]) => isWritten(column))
  const file = openSync(path, 'wx')
  try {
    let rows = 0
    let formulaTexts = 0
    let text = csvRow(columns.map(([column]) => column))
    for (const values of reader.rows(name)) {
      rows += 1
      for (const value of values) if (typeof value === 'string' && beginsAsFormula(value)) formulaTexts += 1
      text += csvRow(
        columns.map(([, { type }], index) => {
          const value = values[index] ?? null
          return value === null ? '' : type.write(value)
        }),
      )
      if (text.length < blockCharacters) continue
      writeFileSync(file, text)
      text = ''
    }
    writeFileSync(file, text)
    fsyncSync(file)
    return { rows, formulaTexts }
  } finally {
    closeSync(file)
  }
}

/** A folder may be replaced only by another of its kind: whatever else lies in it is somebody's. */
function refuseForeign(folder: string): void {
  if (!existsSync(folder)) return
  if (!statSync(folder).isDirectory())
    throw new TarelineError('not-a-folder', `${folder} is a file. Name a folder to write the fleet into.`)
  const own = new Set<string>([...Object.values(allFolderFiles).map(({ file }) => file), attachmentsFolderName])
  const stranger = readdirSync(folder).find((file) => !own.has(file)) ?? strangeAttachment(folder)
  if (stranger !== undefined) {
    throw new TarelineError(
      'folder-in-use',
      `${folder} holds ${stranger}, which is not a file of a fleet folder. Name an empty or new folder.`,
    )
  }
}

/**
 * Writes the record as a fleet folder: all twelve files, and the attachments of tickets where there are some, in the
 * column order of their description and in an order that depends on nothing but the record. The files are written
 * beside the folder and take its place when they are whole; a folder that was there is replaced only when it holds
 * nothing but files of a fleet folder. Voided calibrations are left out.
 *
 * Blocks its thread: `writeOutFolder` does the same beside the running app. Errors: TarelineError `not-a-folder`,
 * `folder-in-use`, `cannot-write`.
 */
export async function exportFolder(store: Store, name: string): Promise<ExportOutcome> {
  const wanted = resolve(name)
  refuseForeign(wanted)
  const present = existsSync(wanted)
  const folder = present ? realpathSync(wanted) : wanted
  const unfinished = join(dirname(folder), `.${basename(folder)}.unfinished-${process.pid}`)
  const replaced = join(dirname(folder), `.${basename(folder)}.replaced-${process.pid}`)
  const reader = openFolderReader(store)
  try {
    rmSync(unfinished, { recursive: true, force: true })
    mkdirSync(unfinished, { recursive: true })
    const written = folderFileNames.map((file) => ({
      file: folderFiles[file].file,
      ...writeFile(reader, file, join(unfinished, folderFiles[file].file)),
    }))
    const attachments = writeAttachments(reader, store.file, unfinished)
    if (present) renameSync(folder, replaced)
    try {
      renameSync(unfinished, folder)
    } catch (error) {
      if (present) renameSync(replaced, folder)
      throw error
    }
    rmSync(replaced, { recursive: true, force: true })
    return {
      folder: wanted,
      files: [
        ...written.map(({ file, rows }) => ({ file, rows })),
        ...(attachments.rows > 0 ? [{ file: allFolderFiles.attachments.file, rows: attachments.rows }] : []),
      ],
      leftOut: attachments.leftOut,
      formulaTexts: written.reduce((sum, each) => sum + each.formulaTexts, attachments.formulaTexts),
    }
  } catch (error) {
    rmSync(unfinished, { recursive: true, force: true })
    if (!(error instanceof Error && 'syscall' in error)) throw error
    throw new TarelineError(
      'cannot-write',
      `${wanted} cannot be written: ${error.message}. Check that the disk has room and that you may write there.`,
      { cause: error },
    )
  } finally {
    reader.close()
  }
}
