import { openStore, type Store } from '#core/store/open.ts'

/** Opens a fleet file that must be there, asks, and closes it whatever comes of it. */
export async function withStore<T>(file: string, ask: (store: Store) => Promise<T>): Promise<T> {
  const store = await openStore(file, { mustExist: true })
  try {
    return await ask(store)
  } finally {
    await store.close()
  }
}
