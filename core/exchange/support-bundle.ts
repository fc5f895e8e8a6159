import { phrase } from '#core/words/phrase.ts'
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { zip } from '#core/exchange/documents/zip.ts'
import { openToLook } from '#core/store/look.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { countRows } from '#core/store/rows.ts'
import { writeWholeCopy } from '#core/store/whole-copy.ts'
import { TarelineError } from '#core/words/problem.ts'

export interface SupportTask {
  readonly kind: 'support bundle'
  readonly dbFile: string
  /** Whether a copy of the fleet file goes along. */
  readonly withFleet: boolean
  /** What runs where, as the About screen shows it, without paths. */
  readonly facts: Readonly<Record<string, string | number | null>>
  readonly log: readonly { readonly name: string; readonly bytes: Uint8Array }[]
}

/** Larger files are given away by themselves. */
const mostFleetBytes = 1024 ** 3

const leaflet = (withFleet: boolean): string =>
  [
    'Support bundle of Tareline',
    '',
    'about.json    versions of the program and of what it runs on; of the fleet file: its size, ' +
      'whether its pages are whole, and how many rows each table has',
    'log/          starts, opened files, imports, copies, refused requests and faults, without names, units, ' +
      'plates or folders',
    withFleet
      ? 'fleet.tareline    a copy of the whole fleet file, because that was ticked'
      : 'No fleet data is in this bundle.',
    '',
  ].join('\r\n')

/**
 * What can be said of the fleet file without a word of what is in it; of one that cannot be read, what is wrong with
 * it.
 */
function fileFacts(file: string): Record<string, unknown> {
  const bytes = statSync(file, { throwIfNoEntry: false })?.size ?? null
  try {
    const raw = openToLook(file)
    try {
      return {
        file: basename(file),
        bytes,
        whole: raw.pragma('quick_check(1)', { simple: true }) === 'ok',
        step: raw.pragma('user_version', { simple: true }),
        rows: Object.fromEntries(countRows(raw)),
      }
    } finally {
      raw.close()
    }
  } catch (error) {
    const fault = faultOf(error)
    if (fault === undefined) throw error
    return { file: basename(file), bytes, fault }
  }
}

async function fleetCopy(file: string): Promise<Uint8Array> {
  const { size = 0 } = statSync(file, { throwIfNoEntry: false }) ?? {}
  if (size > mostFleetBytes)
    throw new TarelineError(
      'too-large',
      phrase(
        'The fleet file is larger than 1 GB, too large for a bundle. Save the bundle without it, and give a copy of the file along.',
      ),
    )
  const folder = mkdtempSync(join(tmpdir(), 'tareline-bundle-'))
  try {
    const raw = openToLook(file)
    try {
      await writeWholeCopy(raw, file, join(folder, 'fleet.tareline'))
    } finally {
      raw.close()
    }
    return readFileSync(join(folder, 'fleet.tareline'))
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/**
 * The bundle as a ZIP archive. Errors: TarelineError `too-large` and those of `writeWholeCopy`, only with the fleet
 * file.
 */
export async function makeSupportBundle(
  { dbFile, withFleet, facts, log }: SupportTask,
  at: number,
): Promise<Uint8Array<ArrayBuffer>> {
  const about = `${JSON.stringify({ ...facts, fleet: fileFacts(dbFile) }, null, 2)}\n`
  return zip(
    [
      { name: 'README.txt', bytes: Buffer.from(leaflet(withFleet)) },
      { name: 'about.json', bytes: Buffer.from(about) },
      ...log.map(({ name, bytes }) => ({ name: `log/${name}`, bytes })),
      ...(withFleet ? [{ name: 'fleet.tareline', bytes: await fleetCopy(dbFile) }] : []),
    ],
    at,
  )
}
