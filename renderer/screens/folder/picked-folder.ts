/** The files of a fleet folder, in the order in which they build on each other. */
export const fleetFolderFiles = [
  'yards.csv', 'units.csv', 'axle_groups.csv', 'circuits.csv', 'sensors.csv', 'mounts.csv', 'battery_changes.csv', 'scales.csv', 'tickets.csv',
  'readings.csv', 'calibrations.csv', 'events.csv',
] as const

export interface PickedFolder {
  readonly name: string
  readonly files: File[]
  /** Names of files in the folder that are no part of a fleet folder. */
  readonly others: string[]
}

/** Sorts what was picked: the fleet folder's own files, directly in the folder, and the rest by name. */
function sortPicked(picked: readonly { file: File; path: string }[]): PickedFolder {
  const name = picked[0]?.path.split('/')[0] ?? ''
  const top = picked.filter(({ path }) => path.split('/').length === 2)
  const byName = new Map(top.map(({ file }) => [file.name, file]))
  const known = new Set<string>(fleetFolderFiles)
  return {
    name,
    files: fleetFolderFiles.flatMap((file) => byName.get(file) ?? []),
    others: top.flatMap(({ file }) => (known.has(file.name) || file.name.startsWith('.') ? [] : [file.name])),
  }
}

export const fromInput = (list: FileList): PickedFolder => sortPicked([...list].map((file) => ({ file, path: file.webkitRelativePath })))

const fileOf = (entry: FileSystemFileEntry) => new Promise<File>((resolve, reject) => entry.file(resolve, reject))

async function filesIn(folder: FileSystemDirectoryEntry): Promise<FileSystemFileEntry[]> {
  const reader = folder.createReader()
  const files: FileSystemFileEntry[] = []
  // A reader hands out its entries in portions and ends with an empty one.
  for (;;) {
    const portion = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject))
    if (portion.length === 0) return files
    files.push(...portion.filter((entry): entry is FileSystemFileEntry => entry.isFile))
  }
}

/** A folder dropped on the window; undefined when something else was dropped. */
export async function fromDrop(items: DataTransferItemList): Promise<PickedFolder | undefined> {
  const folder = [...items].map((item) => item.webkitGetAsEntry()).find((entry): entry is FileSystemDirectoryEntry => entry?.isDirectory === true)
  if (!folder) return undefined
  const entries = await filesIn(folder)
  const picked = await Promise.all(entries.map(async (entry) => ({ file: await fileOf(entry), path: `${folder.name}/${entry.name}` })))
  return sortPicked(picked)
}
