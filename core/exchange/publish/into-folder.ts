import {
  closeSync,
  existsSync,
  mkdirSync,
  openSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs'
import { dirname, join } from 'node:path'
import { fleetNameOf } from '#core/exchange/publish/fleet-name.ts'
import {
  type PublishOptions,
  type PublishedCount,
  type PublishedFleet,
  type PublishedKind,
  type PublishedRow,
  type PublishedTable,
  type PublishedValue,
  type Publishing,
  digestOf,
  namesake,
  publishedLayout,
  sortedRows,
} from '#core/exchange/publish/published-table.ts'
import { isRunning } from '#core/store/running.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { syncFolder, writeSynced } from '#core/store/whole-copy.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'

/**
 * A reporting copy as a folder of Parquet files: TABLE/FLEET-NUMBER.parquet, and FLEET.json, which says what is in
 * them. A folder has no transactions: all new files are written whole under other names first, then put in place at
 * once.
 */

/** So many parts are one file: some twenty thousand rows, which are held while it is written. */
const partsAFile = 8
const unfinished = '.unfinished'
const lockName = '.publishing'

/** How each kind is stored (Apache Parquet's logical types). */
const elements: Readonly<Record<PublishedKind, object>> = {
  text: { type: 'BYTE_ARRAY', converted_type: 'UTF8' },
  whole: { type: 'INT32' },
  number: { type: 'DOUBLE' },
  'yes or no': { type: 'BOOLEAN' },
  moment: { type: 'INT64', converted_type: 'TIMESTAMP_MILLIS' },
  day: { type: 'INT32', converted_type: 'DATE' },
  texts: { type: 'BYTE_ARRAY', converted_type: 'JSON' },
  json: { type: 'BYTE_ARRAY', converted_type: 'JSON' },
}

const asStored = (kind: PublishedKind, value: PublishedValue | undefined): unknown =>
  value === null || value === undefined
    ? null
    : (kind === 'moment' || kind === 'day') && typeof value === 'string'
      ? new Date(value)
      : value

interface Columns {
  readonly columns: PublishedTable['columns']
  readonly about: string
}

async function parquetOf(
  { about, columns }: Columns,
  rows: readonly PublishedRow[],
  fleet: string,
): Promise<Uint8Array> {
  const { parquetWriteBuffer } = await import('hyparquet-writer')
  const all = [{ name: 'fleet_id', kind: 'text' as const, about: 'The fleet, as in the table fleet' }, ...columns]
  const buffer = parquetWriteBuffer({
    schema: [
      { name: 'root', num_children: all.length },
      ...all.map(({ name, kind }) => ({ name, repetition_type: 'OPTIONAL' as const, ...elements[kind] })),
    ],
    columnData: all.map(({ name, kind }) => ({
      name,
      data: rows.map((row) => asStored(kind, name === 'fleet_id' ? fleet : row[name])),
    })),
    // What the table and its columns mean, for who opens the file.
    kvMetadata: [
      { key: 'about', value: about },
      ...all.map(({ name, about: meaning }) => ({ key: `about.${name}`, value: meaning })),
    ],
    createdBy: 'Tareline',
  })
  return new Uint8Array(buffer)
}

/** What FLEET.json says: each file with a digest of its rows. */
interface Manifest {
  readonly layout: number
  readonly name: string
  readonly mark: string
  readonly files: Readonly<Record<string, string>>
}

const manifestName = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\.json$/

function readManifest(path: string): Manifest | undefined {
  try {
    const { layout, name, mark, files } = JSON.parse(readFileSync(path, 'utf8')) as Partial<Manifest>
    return { layout: Number(layout), name: String(name), mark: String(mark), files: files ?? {} }
  } catch {
    return undefined
  }
}

/** Errors: TarelineError `not-a-folder`, `folder-in-use` where somebody else's files lie there. */
function refuseForeign(folder: string): void {
  if (!existsSync(folder)) return
  if (!statSync(folder).isDirectory())
    throw new TarelineError('not-a-folder', `${folder} is a file. Name a folder to publish into.`)
  const names = readdirSync(folder)
  if (names.length > 0 && !names.some((name) => manifestName.test(name) || name === lockName))
    throw new TarelineError(
      'folder-in-use',
      `${folder} holds other files, such as ${names[0]}. Name an empty or new folder, or one that was published into.`,
    )
}

/** Keeps others out of the folder meanwhile; what it returns lets them in. Errors: TarelineError `folder-in-use`. */
function lock(folder: string): () => void {
  const path = join(folder, lockName)
  const take = () => {
    const handle = openSync(path, 'wx')
    writeSync(handle, String(process.pid))
    closeSync(handle)
  }
  try {
    take()
  } catch (error) {
    if (codeOf(error) !== 'EEXIST') throw error
    const owner = Number(readFileSync(path, 'utf8'))
    if (owner !== process.pid && isRunning(owner))
      throw new TarelineError(
        'folder-in-use',
        `Another publishing into ${folder} is not done yet. Wait, then try again.`,
      )
    rmSync(path, { force: true })
    take()
  }
  return () => rmSync(path, { force: true })
}

/** The parts of a table gathered into files, in the order of their numbers. */
async function* filesOf({ parts }: PublishedTable): AsyncGenerator<readonly [number: number, rows: PublishedRow[]]> {
  let open: [number: number, rows: PublishedRow[]] | undefined
  for await (const { part, rows } of parts()) {
    const number = Math.floor(part / partsAFile)
    if (open && open[0] !== number) {
      yield open
      open = undefined
    }
    open ??= [number, []]
    open[1].push(...rows)
  }
  if (open) yield open
}

/** Writes a file whole beside its name; `place` gives it the name. */
function writeBeside(path: string, content: string | Uint8Array): void {
  rmSync(`${path}${unfinished}`, { force: true })
  writeSynced(`${path}${unfinished}`, content)
}
const place = (path: string): void => renameSync(`${path}${unfinished}`, path)

function writeManifest(path: string, manifest: Manifest): void {
  writeBeside(path, JSON.stringify(manifest, null, 1))
  place(path)
}

/** Every file of a fleet in the folder, and what a publishing that was ended has left of them. */
const ownFiles = (folder: string, fleet: string, tables: readonly string[]): string[] =>
  tables.flatMap((table) => {
    const inner = join(folder, table)
    return existsSync(inner)
      ? readdirSync(inner)
          .filter((name) => name.startsWith(`${fleet}-`))
          .map((name) => `${table}/${name}`)
      : []
  })

const fleetTable: Columns = {
  about: 'Every fleet that is published here',
  columns: [
    { name: 'name', kind: 'text', about: 'What it is called' },
    { name: 'zone', kind: 'text', about: 'Time zone in which it counts its days' },
    { name: 'published_at', kind: 'moment', about: 'When it was last written here' },
    { name: 'judged_for', kind: 'moment', about: 'The moment of all judgements: the end of a day' },
    { name: 'record_revision', kind: 'whole', about: 'Revision of its record' },
  ],
}

async function publish(
  folder: string,
  fleet: PublishedFleet,
  tables: readonly PublishedTable[],
  { anew, signal, onTable }: PublishOptions,
): Promise<Publishing> {
  const manifests = readdirSync(folder).filter((name) => manifestName.test(name))
  const own = `${fleet.key}.json`
  const before = manifests.includes(own) ? readManifest(join(folder, own)) : undefined
  const name = fleetNameOf(fleet, before?.name)
  if (manifests.some((other) => other !== own && readManifest(join(folder, other))?.name === name)) throw namesake(name)
  const isSame = before?.layout === publishedLayout && !anew
  const present = ownFiles(folder, fleet.key, ['fleet', ...tables.map((table) => table.name)])
  const isWhole = Object.keys(before?.files ?? {}).every((file) => present.includes(file))
  if (isSame && isWhole && before.name === name && before.mark === fleet.mark) return { fleet: name, tables: null }
  const files: Record<string, string> = {}
  const fresh: string[] = []
  const put = async (file: string, digest: string, bytes: () => Promise<Uint8Array>): Promise<boolean> => {
    files[file] = digest
    if (isSame && before.files[file] === digest && present.includes(file)) return false
    mkdirSync(dirname(join(folder, file)), { recursive: true })
    writeBeside(join(folder, file), await bytes())
    fresh.push(file)
    return true
  }
  const counts: PublishedCount[] = []
  try {
    for (const table of tables) {
      let all = 0
      let written = 0
      for await (const [number, rows] of filesOf(table)) {
        signal.throwIfAborted()
        all += rows.length
        const file = `${table.name}/${fleet.key}-${number}.parquet`
        if (await put(file, digestOf(sortedRows(rows)), () => parquetOf(table, rows, fleet.key))) written += rows.length
        onTable(table.name, all)
      }
      counts.push({ table: table.name, rows: all, written })
    }
    const { zone, at, judgedFor, revision } = fleet
    const row = { name, zone, published_at: at, judged_for: judgedFor, record_revision: revision }
    await put(`fleet/${fleet.key}-0.parquet`, digestOf(JSON.stringify(row)), () =>
      parquetOf(fleetTable, [row], fleet.key),
    )
  } catch (error) {
    for (const file of fresh) rmSync(join(folder, `${file}${unfinished}`), { force: true })
    throw error
  }
  // Until all is in place nothing tells that it is, so that a cut-off publishing is done again.
  const manifest: Manifest = { layout: publishedLayout, name, mark: fleet.mark, files }
  writeManifest(join(folder, own), { ...manifest, mark: '', files: {} })
  for (const file of fresh) place(join(folder, file))
  for (const file of present) if (files[file] === undefined) rmSync(join(folder, file), { force: true })
  writeManifest(join(folder, own), manifest)
  for (const table of new Set(fresh.map((file) => dirname(file)))) syncFolder(join(folder, table))
  syncFolder(folder)
  return { fleet: name, tables: counts }
}

/** What the disk of the folder did, in a sentence; the fleet file's own faults are told elsewhere. */
function refusal(error: unknown, folder: string): unknown {
  if (!(error instanceof Error && 'syscall' in error && faultOf(error) !== undefined)) return error
  return new TarelineError(
    'cannot-write',
    `${folder} cannot be written to: ${error.message}. Make room or give yourself the right to change it, then publish ` +
      'again: what is missing is made good.',
  )
}

/**
 * Writes a fleet into a folder of Parquet files: only files whose rows differ are written, and those that are gone are
 * removed. Errors: TarelineError `not-a-folder`, `folder-in-use`, `name-taken`, `cannot-write`.
 */
export async function publishToFolder(
  folder: string,
  fleet: PublishedFleet,
  tables: readonly PublishedTable[],
  options: PublishOptions,
): Promise<Publishing> {
  refuseForeign(folder)
  let letGo: (() => void) | undefined
  try {
    mkdirSync(folder, { recursive: true })
    letGo = lock(folder)
    return await publish(folder, fleet, tables, options)
  } catch (error) {
    throw refusal(error, folder)
  } finally {
    letGo?.()
  }
}
