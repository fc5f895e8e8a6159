import type { ImportOutcome } from '#core/contracts/import.ts'
import { attachmentsFolderName, isAttachmentFile } from '#core/words/attachment-file.ts'
import { client } from '#renderer/client/api.ts'
import { type PlacedFile, sendFiles } from '#renderer/client/inbox.ts'
import { renewAfter } from '#renderer/client/queries.ts'
import { atStart, importRun } from '#renderer/parts/import-progress.tsx'
import { phrase } from '#core/words/phrase.ts'

/** The files of a fleet folder, in the order in which they build on each other. */
export const fleetFolderFiles = [
  'yards.csv',
  'units.csv',
  'axle_groups.csv',
  'circuits.csv',
  'sensors.csv',
  'mounts.csv',
  'battery_changes.csv',
  'scales.csv',
  'tickets.csv',
  'readings.csv',
  'calibrations.csv',
  'events.csv',
] as const

/** Which tickets have scans and photos. */
const attachmentsList = 'attachments.csv'

export interface PickedFolder {
  readonly name: string
  readonly files: PlacedFile[]
  /** Names of files in the folder that are no part of a fleet folder. */
  readonly others: string[]
}

/**
 * Sorts what was picked: the fleet folder's own files, directly in the folder, its attachments where it lists some, and
 * the rest by name.
 */
function sortPicked(picked: readonly { file: File; path: string }[]): PickedFolder {
  const name = picked[0]?.path.split('/')[0] ?? ''
  const top = picked.filter(({ path }) => path.split('/').length === 2)
  const byName = new Map(top.map(({ file }) => [file.name, file]))
  const all = [...fleetFolderFiles, attachmentsList]
  const known = new Set<string>(all)
  const attachments = byName.has(attachmentsList)
    ? picked.flatMap(({ file, path }) =>
        path.split('/').length === 3 && path.split('/')[1] === attachmentsFolderName && isAttachmentFile(file.name)
          ? [{ file, path: `${attachmentsFolderName}/${file.name}` }]
          : [],
      )
    : []
  return {
    name,
    files: [
      ...all.flatMap((path) => {
        const file = byName.get(path)
        return file ? [{ file, path }] : []
      }),
      ...attachments,
    ],
    others: top.flatMap(({ file }) => (known.has(file.name) || file.name.startsWith('.') ? [] : [file.name])),
  }
}

export const fromInput = (list: FileList): PickedFolder =>
  sortPicked([...list].map((file) => ({ file, path: file.webkitRelativePath })))

const fileOf = (entry: FileSystemFileEntry) => new Promise<File>((resolve, reject) => entry.file(resolve, reject))

const isFile = (entry: FileSystemEntry): entry is FileSystemFileEntry => entry.isFile
const isAttachments = (entry: FileSystemEntry): entry is FileSystemDirectoryEntry =>
  entry.isDirectory && entry.name === attachmentsFolderName

async function entriesIn(folder: FileSystemDirectoryEntry): Promise<FileSystemEntry[]> {
  const reader = folder.createReader()
  const entries: FileSystemEntry[] = []
  // A reader hands out its entries in portions and ends with an empty one.
  for (;;) {
    const portion = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject))
    if (portion.length === 0) return entries
    entries.push(...portion)
  }
}

/** A folder dropped on the window; undefined when something else was dropped. */
export async function fromDrop(items: DataTransferItemList): Promise<PickedFolder | undefined> {
  const folder = [...items]
    .map((item) => item.webkitGetAsEntry())
    .find((entry): entry is FileSystemDirectoryEntry => entry?.isDirectory === true)
  if (!folder) return undefined
  const entries = await entriesIn(folder)
  const attachments = entries.find(isAttachments)
  const pick = (from: readonly FileSystemEntry[], path: string) =>
    Promise.all(
      from.filter(isFile).map(async (entry) => ({ file: await fileOf(entry), path: `${path}/${entry.name}` })),
    )
  return sortPicked([
    ...(await pick(entries, folder.name)),
    ...(attachments ? await pick(await entriesIn(attachments), `${folder.name}/${attachmentsFolderName}`) : []),
  ])
}

/** Files are sent first; their share of the whole is small, as they do not leave this computer. */
const sendingShare = 0.1

const folderRun = importRun<ImportOutcome>()
export const useImportState = folderRun.useState

const start = async (...how: Parameters<typeof folderRun.run>) => {
  await folderRun.run(...how)
  await renewAfter('folder.bringIn')
}

export const bringInFiles = (name: string, files: readonly PlacedFile[]): Promise<void> =>
  start(name, phrase('Sending the files'), async (signal, onProgress) => {
    const inbox = await sendFiles(files, {
      signal,
      onSent: (file, sent) =>
        onProgress({ ...atStart(phrase('Sent {file}', { file })), share: (sendingShare * sent) / files.length }),
    })
    return client.folder.bringIn({ inbox }, { signal })
  })
export const bringInFolder = (folder: string): Promise<void> =>
  start(folder, phrase('Opening the folder'), (signal) => client.folder.bringIn({ folder }, { signal }))
export const { cancel: cancelImport, forget: forgetImport } = folderRun
