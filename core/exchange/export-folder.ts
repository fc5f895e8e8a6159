import { phrase } from '#core/words/phrase.ts'
import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, realpathSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { csvRow } from '#core/exchange/csv-records.ts'
import { allFolderFiles, columnsOf, folderFileNames, folderFiles } from '#core/exchange/folder-files.ts'
import {
  finishCutOff,
  isNoted,
  placeFolder,
  refuseForeign,
  stateOf,
  sweepExports,
  unfinishedFolder,
} from '#core/exchange/place-folder.ts'
import { readAttachment } from '#core/store/attachments.ts'
import { type FolderReader, openFolderReader } from '#core/store/folder-ledger.ts'
import type { Store } from '#core/store/open.ts'
import { faultOfMaking } from '#core/store/sqlite-fault.ts'
import { writeSynced } from '#core/store/whole-copy.ts'
import { type AttachmentType, attachmentsFolderName, endingOf } from '#core/words/attachment-file.ts'
import { TarelineError } from '#core/words/problem.ts'
import { beginsAsFormula } from '#core/words/text.ts'

/**
 * Writes the attachments of the tickets and the list of them; nothing where there are none. Each file lies there once,
 * by its hash, however many tickets have it. One that is missing or damaged is left out with its rows, and told by a
 * sentence, so that the folder can be imported.
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
        leftOut.set(
          sha256,
          phrase('Left out, ticket {ticket} of {scale}: {message}', { ticket, scale, message: error.message }),
        )
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
   * Texts that begin as a spreadsheet's formula does: kept as they are, since the folder must import what was written
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
  const columns = columnsOf(name).flatMap(([column, { type, late = false }], index) =>
    late && !reader.says(name, column) ? [] : { column, type, index },
  )
  const file = openSync(path, 'wx')
  try {
    let rows = 0
    let formulaTexts = 0
    let text = csvRow(columns.map(({ column }) => column))
    for (const values of reader.rows(name)) {
      rows += 1
      for (const value of values) if (typeof value === 'string' && beginsAsFormula(value)) formulaTexts += 1
      text += csvRow(
        columns.map(({ type, index }) => {
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

/** Why a folder cannot be written, in a sentence; whatever lay there is as it was. */
function writingError(error: Error, folder: string): TarelineError {
  const fault = faultOfMaking(error, folder)
  const words: Partial<Record<NonNullable<typeof fault>, string>> = {
    'disk-full': phrase(
      'There is no room for {folder} on its disk. Free some space there or name a folder on another disk, then export again.',
      { folder },
    ),
    'read-only': phrase('{folder} may not be written to. Name a folder that you may change, then export again.', {
      folder,
    }),
    'cannot-open': phrase(
      '{folder} cannot be made. Check that its disk is connected and that the name is one of a folder, then export again.',
      { folder },
    ),
  }
  return new TarelineError(
    'cannot-write',
    (fault && words[fault]) ??
      phrase('{folder} cannot be written: {message}. Check its disk, then export again.', {
        folder,
        message: error.message,
      }),
    { cause: error },
  )
}

/**
 * Writes the record as a fleet folder: all twelve files, and the attachments of tickets where there are some, in the
 * column order of their description and in an order that depends on nothing but the record. The files are written
 * beside the folder and take the place of its files when they are whole; only a folder that holds nothing but files of
 * a fleet folder, and that nobody changes meanwhile, is written over. Voided calibrations are left out.
 *
 * Blocks its thread: `writeOutFolder` does the same beside the running app. Errors: TarelineError `not-a-folder`,
 * `folder-in-use`, `cannot-write`.
 */
export async function exportFolder(store: Store, name: string): Promise<ExportOutcome> {
  const wanted = resolve(name)
  try {
    return writeFolder(store, wanted)
  } catch (error) {
    if (!(error instanceof Error && 'syscall' in error)) throw error
    throw writingError(error, wanted)
  }
}

function writeFolder(store: Store, wanted: string): ExportOutcome {
  const folder = existsSync(wanted) ? realpathSync(wanted) : wanted
  finishCutOff(folder, { mustBeWhole: false })
  sweepExports(dirname(folder))
  refuseForeign(wanted)
  const before = stateOf(folder)
  const unfinished = unfinishedFolder(folder)
  const reader = openFolderReader(store)
  try {
    mkdirSync(unfinished, { recursive: true })
    const written = folderFileNames.map((file) => ({
      file: folderFiles[file].file,
      ...writeFile(reader, file, join(unfinished, folderFiles[file].file)),
    }))
    const attachments = writeAttachments(reader, store.file, unfinished)
    placeFolder(unfinished, folder, before)
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
    // Where the new files have begun to take their places, they are needed to finish it.
    if (!isNoted(folder)) rmSync(unfinished, { recursive: true, force: true })
    throw error
  } finally {
    reader.close()
  }
}
