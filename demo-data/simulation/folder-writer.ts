import { closeSync, mkdirSync, openSync, writeSync } from 'node:fs'
import { join } from 'node:path'

/** The twelve files of a fleet folder with their columns. */
export const folderColumns = {
  yards: ['yard', 'elevation_ft'],
  units: [
    'unit',
    'kind',
    'vin',
    'plate',
    'plate_region',
    'make',
    'model',
    'model_year',
    'yard',
    'gross_limit_lb',
    'fifth_wheel_ft',
  ],
  axle_groups: ['unit', 'group', 'role', 'axles', 'first_axle_ft', 'axle_spacing_ft', 'limit_lb', 'measured_by'],
  circuits: ['unit', 'group', 'circuit', 'air_springs', 'spring_area_in2', 'ride_height_in'],
  sensors: ['serial', 'reference', 'range_psi', 'resolution_psi', 'accuracy_psi', 'cell', 'report_every_s'],
  mounts: ['serial', 'unit', 'group', 'circuit', 'mounted_at', 'removed_at'],
  battery_changes: ['serial', 'changed_at', 'reason', 'cell'],
  scales: ['scale', 'division_lb', 'elevation_ft', 'tolerance_percent'],
  tickets: ['scale', 'ticket', 'weighed_at', 'unit', 'group', 'weight_lb', 'gross_lb'],
  readings: [
    'reading',
    'taken_at',
    'unit',
    'group',
    'circuit',
    'psi',
    'scale',
    'ticket',
    'elevation_ft',
    'temperature_f',
    'lift',
  ],
  calibrations: ['unit', 'group', 'calibrated_at', 'by', 'scale', 'ticket', 'reading'],
  events: ['unit', 'group', 'circuit', 'happened_at', 'event', 'note'],
} as const

export type FolderFile = keyof typeof folderColumns
export type FolderRow<F extends FolderFile> = {
  readonly [C in (typeof folderColumns)[F][number]]: string | number | null
}

/** A column of one of the files, as `file.column`. */
export type WithheldColumn = {
  [F in FolderFile]: `${F}.${(typeof folderColumns)[F][number]}`
}[FolderFile]

export const folderFiles = Object.keys(folderColumns) as FolderFile[]

const flushAt = 1 << 16

function cell(value: string | number | null): string {
  if (value === null) return ''
  const text = String(value)
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

/** Writes a fleet folder row by row; no more than some 64 kB a file is ever held. Overwrites what is there. */
export class FolderWriter {
  readonly #files = new Map<FolderFile, { descriptor: number; pending: string; rows: number }>()

  readonly #withheld: ReadonlySet<string>

  /** withheld: columns that nobody noted, as `file.column`; their cells stay empty. */
  constructor(folder: string, withheld: readonly WithheldColumn[] = []) {
    this.#withheld = new Set(withheld)
    mkdirSync(folder, { recursive: true })
    for (const file of folderFiles) {
      const descriptor = openSync(join(folder, `${file}.csv`), 'w')
      this.#files.set(file, { descriptor, pending: `${folderColumns[file].join(',')}\n`, rows: 0 })
    }
  }

  row<F extends FolderFile>(file: F, row: FolderRow<F>): void {
    const target = this.#target(file)
    const columns: readonly string[] = folderColumns[file]
    let line = ''
    for (let i = 0; i < columns.length; i += 1) {
      if (i > 0) line += ','
      const column = columns[i] as string
      const value = this.#withheld.has(`${file}.${column}`)
        ? null
        : (row as Record<string, string | number | null>)[column]
      line += cell(value as string | number | null)
    }
    target.pending += `${line}\n`
    target.rows += 1
    if (target.pending.length >= flushAt) this.#flush(target)
  }

  /** Closes all files and tells how many rows each has. */
  close(): Record<FolderFile, number> {
    const counts: Partial<Record<FolderFile, number>> = {}
    for (const [file, target] of this.#files) {
      this.#flush(target)
      closeSync(target.descriptor)
      counts[file] = target.rows
    }
    this.#files.clear()
    return counts as Record<FolderFile, number>
  }

  #target(file: FolderFile) {
    const target = this.#files.get(file)
    if (target === undefined) throw new RangeError('the folder is closed')
    return target
  }

  #flush(target: { descriptor: number; pending: string }): void {
    const bytes = Buffer.from(target.pending)
    for (let done = 0; done < bytes.length; ) done += writeSync(target.descriptor, bytes, done)
    target.pending = ''
  }
}
