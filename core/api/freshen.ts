import { catchUpInThread } from '#core/jobs/in-thread.ts'
import { areJudgementsOf, readBooks } from '#core/store/books.ts'
import { catchUpTouched } from '#core/store/catch-up.ts'
import type { Store } from '#core/store/open.ts'

/** Catching up under way, by file: whoever asks at the same time waits for one and the same job. */
const underWay = new Map<string, Promise<void>>()

function catchUpOnce(file: string, now: number): Promise<void> {
  const running = underWay.get(file)
  if (running) return running
  const started = catchUpInThread(file, now).finally(() => underWay.delete(file))
  underWay.set(file, started)
  return started
}

type Report = (error: unknown) => void

/**
 * When the stored judgements are of (ms UTC). Those of an earlier day, or of a record that has changed since, are made
 * anew in a thread meanwhile, and the screens ask again once they are there; only a file that was never judged is
 * waited for.
 */
export async function freshJudgements(store: Store, now: number, report: Report): Promise<number> {
  const books = await readBooks(store.db)
  if (books.judgedFor !== null && areJudgementsOf(books, now)) return books.judgedFor
  const catching = catchUpOnce(store.file, now)
  if (books.judgedFor !== null) {
    catching.catch(report)
    return books.judgedFor
  }
  await catching
  return (await readBooks(store.db)).judgedFor ?? now
}

/** Whether the stored weights are those of the record; as `freshJudgements` otherwise. */
export async function freshWeighings(store: Store, now: number, report: Report): Promise<boolean> {
  const books = await readBooks(store.db)
  if (books.weightsCurrent) return true
  const catching = catchUpOnce(store.file, now)
  if (books.everWeighed) {
    catching.catch(report)
    return false
  }
  await catching
  return (await readBooks(store.db)).weightsCurrent
}

/**
 * What every handler that changed the record ends with: judges and weighs what the change touched, so that who saved
 * sees what came of it; what is about the whole fleet follows in the shared job. A file that was never judged waits for
 * its first look.
 */
export async function afterChange(store: Store, now: number, report: Report): Promise<void> {
  if (await catchUpTouched(store, now)) return
  if ((await readBooks(store.db)).judgedFor !== null) catchUpOnce(store.file, now).catch(report)
}

/** The same for a change of the whole fleet that is waited for, such as a House Rule's. */
export async function afterFleetChange(store: Store, now: number): Promise<void> {
  if (!(await catchUpTouched(store, now))) await catchUpOnce(store.file, now)
}
