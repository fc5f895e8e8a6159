import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Store, openStore } from '#core/store/open.ts'

/** Opens a fresh database file of its own, hands it over, and removes it again. */
export async function withStore<T>(work: (store: Store) => Promise<T> | T): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-'))
  const store = await openStore(join(folder, 'fleet.tareline'))
  // Durability is not what these tests are about, and waiting for the disk is most of their time.
  store.raw.pragma('synchronous = OFF')
  try {
    return await work(store)
  } finally {
    await store.close()
    rmSync(folder, { recursive: true })
  }
}
