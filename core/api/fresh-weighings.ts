import { weighInThread } from '#core/exchange/bring-in.ts'
import type { Store } from '#core/store/open.ts'
import { areWeighingsCurrent } from '#core/store/weighings.ts'
import { readWeighingState } from '#core/store/weighing-state.ts'

/** Files whose record is being weighed: windows that ask at the same time wait for one and the same. */
const underWay = new Map<string, Promise<void>>()

function weighOnce(file: string): Promise<void> {
  const running = underWay.get(file)
  if (running) return running
  const started = weighInThread(file).finally(() => underWay.delete(file))
  underWay.set(file, started)
  return started
}

/**
 * Whether the stored weights are those of the record. Where it has changed since they are made anew in a thread
 * meanwhile, and the screens ask again; only a record that was never weighed is waited for.
 */
export async function freshWeighings(store: Store, report: (error: unknown) => void): Promise<boolean> {
  if (await areWeighingsCurrent(store)) return true
  const weighing = weighOnce(store.file)
  if (await readWeighingState(store.db)) {
    weighing.catch(report)
    return false
  }
  await weighing
  return areWeighingsCurrent(store)
}
