import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Store, openStore } from '#core/store/open.ts'

async function inFolder<T>(work: (file: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-'))
  try {
    return await work(join(folder, 'fleet.tareline'))
  } finally {
    rmSync(folder, { recursive: true })
  }
}

const makeEmptyFile = () =>
  inFolder(async (file) => {
    const store = await openStore(file)
    store.raw.prepare("update house_setting set value = 'UTC' where name = 'zone'").run()
    await store.close()
    return readFileSync(file)
  })
let emptyFile: Promise<Buffer> | undefined

/**
 * Opens a new database file whose fleet counts its days in UTC, wherever the test runs. All are copies of one that was
 * made by every migration: making each anew is most of the time of a test with few rows.
 */
export async function openNewStore(file: string): Promise<Store> {
  emptyFile ??= makeEmptyFile()
  writeFileSync(file, await emptyFile)
  const store = await openStore(file)
  // Durability is not what these tests are about, and waiting for the disk is most of the rest.
  store.raw.pragma('synchronous = OFF')
  return store
}

/** Opens such a file in a folder of its own, hands it over, and removes it again. */
export const withStore = <T>(work: (store: Store) => Promise<T> | T): Promise<T> =>
  inFolder(async (file) => {
    const store = await openNewStore(file)
    try {
      return await work(store)
    } finally {
      await store.close()
    }
  })
