import { existsSync } from 'node:fs'
import { mkdir, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { instant } from '#core/exchange/column.ts'
import { csvRow, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'
import { allFolderFiles, columnsOf, folderFileNames } from '#core/exchange/folder-files.ts'
import { dayMs, parseInstant, toStoredInstant } from '#core/words/instant.ts'

type FileName = (typeof folderFileNames)[number]

/** Hands over the records of a file of a fleet folder, the header first. Errors: RangeError where it is no CSV. */
async function readRecords(folder: string, name: FileName, take: (cells: string[]) => void): Promise<void> {
  const { file } = allFolderFiles[name]
  const scanner = csvScanner({
    record: take,
    fault: ({ line, accepted }) => {
      throw new RangeError(`${file}, line ${line}: ${accepted} is needed`)
    },
  })
  for await (const { text } of readUtf8(join(folder, file))) scanner.take(text)
  scanner.end()
}

const namesIn = (folder: string) =>
  folderFileNames.filter((name) => existsSync(join(folder, allFolderFiles[name].file)))

/** The columns of a file that hold a time, by their places under its own header. */
function timePlaces(name: FileName, header: readonly string[]): number[] {
  const times = new Set(columnsOf(name).flatMap(([column, { type }]) => (type === instant ? [column] : [])))
  return header.flatMap((title, place) => (times.has(title.trim().toLowerCase()) ? [place] : []))
}

/** The newest reading of a fleet folder, ms UTC; undefined where it has none. */
export async function newestReadingIn(folder: string): Promise<number | undefined> {
  if (!namesIn(folder).includes('readings')) return undefined
  let places: number[] | undefined
  let newest: number | undefined
  await readRecords(folder, 'readings', (cells) => {
    if (places === undefined) {
      places = timePlaces('readings', cells)
      return
    }
    for (const place of places) {
      const at = parseInstant(cells[place] ?? '')
      if (at !== undefined && (newest === undefined || at > newest)) newest = at
    }
  })
  return newest
}

/**
 * Writes the files of a fleet folder into a new one with all their times moved by whole days, either way; what is no
 * time stays as it is. Attachments, which carry none, are not taken along. Errors: RangeError where a file is no CSV;
 * those of the file system.
 */
export async function writeMovedFolder(from: string, to: string, days: number): Promise<void> {
  await mkdir(to, { recursive: true })
  for (const name of namesIn(from)) {
    let places: number[] | undefined
    let text = ''
    await readRecords(from, name, (cells) => {
      if (places === undefined) places = timePlaces(name, cells)
      else
        for (const place of places) {
          const at = parseInstant(cells[place] ?? '')
          if (at !== undefined) cells[place] = toStoredInstant(at + days * dayMs)
        }
      text += csvRow(cells)
    })
    await writeFile(join(to, allFolderFiles[name].file), text)
  }
}
