import { phrase } from '#core/words/phrase.ts'
import { createHash } from 'node:crypto'
import { existsSync, statSync } from 'node:fs'
import { readdir } from 'node:fs/promises'
import { basename, join, resolve } from 'node:path'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { NotUtf8, csvScanner, digestOfFile, readUtf8 } from '#core/exchange/csv-records.ts'
import { type FolderFileName, allFolderFileNames, allFolderFiles } from '#core/exchange/folder-files.ts'
import { finishCutOff } from '#core/exchange/place-folder.ts'
import { type ImportOptions, type RecordSource, importRecords } from '#core/exchange/import-records.ts'
import { addNotUtf8 } from '#core/exchange/plain-table.ts'
import { type ProblemList, problemList } from '#core/exchange/row-reader.ts'
import type { Store } from '#core/store/open.ts'
import { attachmentsFolderName } from '#core/words/attachment-file.ts'
import { TarelineError } from '#core/words/problem.ts'

/** One file of the folder, read as UTF-8 CSV. */
const fileSource = (name: FolderFileName, path: string, size: number, problems: ProblemList): RecordSource => ({
  name,
  size,
  // What rows of attachments name lies beside their file.
  ...(name === 'attachments' ? {} : { digest: (pause) => digestOfFile(path, pause) }),
  read: async (taker, pause) => {
    const scanner = csvScanner(taker)
    const hash = createHash('sha256')
    let read = 0
    try {
      for await (const { text, bytes } of readUtf8(path, hash)) {
        scanner.take(text)
        read = bytes
        await pause(bytes)
      }
    } catch (error) {
      if (!(error instanceof NotUtf8)) throw error
      addNotUtf8(problems, allFolderFiles[name].file, error)
      return false
    }
    scanner.end()
    return { bytes: read, sha256: hash.digest('hex') }
  },
})

/** The files as they lie in a folder, with their sizes; and notes about those that look like one and are not. */
async function listFiles(folder: string): Promise<{ present: [FolderFileName, string, number][]; notes: string[] }> {
  if (!existsSync(folder) || !statSync(folder).isDirectory()) {
    throw new TarelineError(
      'no-folder',
      phrase("{folder} is not a folder. Name the folder that holds the fleet's CSV files.", { folder }),
    )
  }
  const present = allFolderFileNames.flatMap((name): [FolderFileName, string, number][] => {
    const path = join(folder, allFolderFiles[name].file)
    return existsSync(path) && statSync(path).isFile() ? [[name, path, statSync(path).size]] : []
  })
  const known = new Set<string>(Object.values(allFolderFiles).map(({ file }) => file))
  const strangers = (await readdir(folder)).filter((file) => /\.csv$/i.test(file) && !known.has(file)).sort()
  if (present.length === 0) {
    throw new TarelineError(
      'no-folder',
      phrase('{folder} holds none of the files of a fleet folder ({files}).', { folder, files: [...known].join(', ') }),
    )
  }
  const notes = strangers.map((file) => phrase('{file} is not a file of a fleet folder and was passed over.', { file }))
  const { file: list } = allFolderFiles.attachments
  if (existsSync(join(folder, attachmentsFolderName)) && !existsSync(join(folder, list)))
    notes.push(
      phrase('The folder {folder} was passed over: there is no {list} that says which tickets its files belong to.', {
        folder: attachmentsFolderName,
        list,
      }),
    )
  return { present, notes }
}

/**
 * Brings a fleet folder into the store: all of it, or, when any row has a problem, nothing. One transaction on this
 * store's connection, which must do nothing else meanwhile: `bringInFolder` does the same beside the running app.
 *
 * Errors: TarelineError `no-folder`, `folder-unfinished`, `folder-in-use`, `locked`; the signal's reason after a
 * cancel. Faults of the files are in the outcome.
 */
export async function importFolder(store: Store, folder: string, options: ImportOptions = {}): Promise<ImportOutcome> {
  options.signal?.throwIfAborted()
  const path = resolve(folder)
  finishCutOff(path, { mustBeWhole: true })
  const { present, notes } = await listFiles(path)
  const problems = problemList()
  const sources = present.map(([name, filePath, size]) => fileSource(name, filePath, size, problems))
  return await importRecords(
    store,
    { sources, problems, notes, folder: path, logged: { subject: 'fleet folder', key: basename(path) } },
    options,
  )
}
