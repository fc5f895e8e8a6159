import { createHash } from 'node:crypto'
import {
  appendFileSync,
  copyFileSync,
  existsSync,
  linkSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
} from 'node:fs'
import { join } from 'node:path'
import { writeLargeFleet } from '#tests/bench/large-fleet.ts'
import { root, runTareline } from '#tests/bench/program.ts'

/** Rows of readings a unit. */
export const rowsOfUnit = 100
const units = 10_000
export const readingRows = rowsOfUnit * units

export interface FleetSize {
  readonly units: number
  readonly readingRows: number
}
const usual: FleetSize = { units, readingRows }
/** How a fleet of a size is told from others; the usual one has no mark. */
const sizeMark = (size: FleetSize): string => (size.units === units ? '' : `${size.units}-`)
/** What is asked of bulk work at that size, bytes at the peak. */
export const memory = 400e6
/** The day that the large fleet is judged on: its last. */
export const asOf = '2026-11-24'

const cache = join(root, '.cache/bench')

/** A short mark of the sources that a piece of data follows from: other sources, other data. */
function mark(...folders: readonly string[]): string {
  const hash = createHash('sha256')
  for (const folder of folders) {
    for (const name of readdirSync(join(root, folder))
      .filter((file) => file.endsWith('.ts'))
      .sort()) {
      if (folder === 'tests/bench' && !name.startsWith('large-')) continue
      hash.update(readFileSync(join(root, folder, name)))
    }
  }
  return hash.digest('hex').slice(0, 10)
}

const fleetMark = () => mark('tests/bench', 'demo-data/simulation')

/** Makes a file or folder once and keeps it between runs; it gets its name when it is whole. */
async function kept(name: string, make: (unfinished: string) => unknown): Promise<string> {
  const path = join(cache, name)
  if (existsSync(path)) return path
  mkdirSync(cache, { recursive: true })
  const unfinished = `${path}.unfinished`
  rmSync(unfinished, { recursive: true, force: true })
  await make(unfinished)
  renameSync(unfinished, path)
  return path
}

/** The large fleet as a fleet folder: usually 10,000 units, 25,000 sensed groups, 1,000,000 rows of readings. */
export const largeFolder = (size: FleetSize = usual): Promise<string> =>
  kept(`fleet-${sizeMark(size)}${fleetMark()}`, (folder) => {
    console.error(`Writing a fleet of ${size.units} units with ${size.readingRows} rows of readings…`)
    writeLargeFleet(folder, size)
  })

/** Some files of the large fleet as a folder of their own. */
export async function partOfLargeFolder(name: string, wanted: (file: string) => boolean): Promise<string> {
  const whole = await largeFolder()
  return kept(`${name}-${fleetMark()}`, (folder) => {
    mkdirSync(folder, { recursive: true })
    for (const file of readdirSync(whole).filter(wanted)) linkSync(join(whole, file), join(folder, file))
  })
}

/** The large fleet as a folder with the same rows in other bytes: a blank line ends each file. */
export async function rewrittenLargeFolder(): Promise<string> {
  const whole = await largeFolder()
  return kept(`rewritten-${fleetMark()}`, (folder) => {
    mkdirSync(folder, { recursive: true })
    for (const file of readdirSync(whole)) {
      copyFileSync(join(whole, file), join(folder, file))
      appendFileSync(join(folder, file), '\n')
    }
  })
}

/** The large fleet as a database, imported through the command line. */
export async function largeDatabase(size: FleetSize = usual): Promise<string> {
  const folder = await largeFolder(size)
  return kept(`fleet-${sizeMark(size)}${fleetMark()}-${mark('migrations')}.tareline`, async (file) => {
    console.error(`Bringing the fleet of ${size.units} units in…`)
    await runTareline('import', folder, '--db', file)
  })
}

/** A name for a database that is thrown away after the run. */
export function scratchDatabase(name: string): { file: string; remove(): void } {
  mkdirSync(cache, { recursive: true })
  const file = join(cache, `scratch-${name}.tareline`)
  const remove = () => {
    for (const ending of ['', '-wal', '-shm', '-journal', ' copies'])
      rmSync(`${file}${ending}`, { recursive: true, force: true })
  }
  remove()
  return { file, remove }
}
