import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { importFolder } from '#core/exchange/import-folder.ts'
import { checkFile } from '#core/store/check-file.ts'
import { openStore } from '#core/store/open.ts'
import { largeFleet, smallFleet as screenFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

/** Makes a fleet file with a few units, or with many rows, closed; answers its path. */
export async function makeFleetFile(folder: string, { units = 0, name = 'fleet.tareline' } = {}): Promise<string> {
  const file = join(folder, name)
  const store = await openStore(file)
  try {
    // Waiting for the disk is most of the time of making a file, and not what these tests are about.
    store.raw.pragma('synchronous = OFF')
    const fleet = writeFleetFolder(join(folder, `folder of ${name}`), units === 0 ? screenFleet : largeFleet(units))
    const outcome = await importFolder(store, fleet)
    if (outcome.outcome === 'refused') throw new Error(outcome.problems[0]?.message)
  } finally {
    await store.close()
  }
  return file
}

/** What a hex editor does: overwrites bytes in the middle of a file, well behind what is read at opening. */
export function overwriteBytes(file: string, { from = 0.4, to = 0.6 } = {}): void {
  const bytes = readFileSync(file)
  bytes.fill(0x5a, Math.floor(bytes.length * from), Math.floor(bytes.length * to))
  writeFileSync(file, bytes)
}

/** Every file of a folder with its bytes, by name. */
export const bytesOf = (folder: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(folder, { withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map(({ name }) => [name, readFileSync(join(folder, name)).toString('base64')]),
  )

/** The file is whole: every page, every reference, and the records count as they should. */
export async function soundness(file: string): Promise<string> {
  return existsSync(file) ? (await checkFile(file)).message : 'missing'
}

/** The first circuit of a fleet file, as people call it. */
export async function firstCircuit(file: string): Promise<string> {
  const store = await openStore(file)
  try {
    return store.raw
      .prepare(
        `select u.number || ' ' || g.name || ' ' || c.name from circuit c join axle_group g on g.id = c.group_id
          join unit u on u.id = g.unit_id order by c.id limit 1`,
      )
      .pluck()
      .get() as string
  } finally {
    await store.close()
  }
}
