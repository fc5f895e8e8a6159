import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { type FolderFile, folderColumns } from '#demo/simulation/folder-writer.ts'

export type TextRow = Readonly<Record<string, string>>

/** The rows of one file of a fleet folder, as text. */
export function readRows(folder: string, file: FolderFile): TextRow[] {
  return parse(readFileSync(join(folder, `${file}.csv`)), { columns: true })
}

/** A file's columns in the order in which they stand. */
export function readColumns(folder: string, file: FolderFile): string[] {
  return (readFileSync(join(folder, `${file}.csv`), 'utf8').split('\n', 1)[0] as string).split(',')
}

export const columnsOf = (file: FolderFile): readonly string[] => folderColumns[file]
