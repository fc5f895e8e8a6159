import type { FollowUp } from '#core/contracts/file.ts'
import { catchUpInThread } from '#core/jobs/in-thread.ts'
import { areJudgementsOf, areWeightsOf, isCurrent, readBooks } from '#core/store/books.ts'
import { catchUpTouched } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import type { Store } from '#core/store/open.ts'
import { dayOf } from '#core/words/day.ts'

interface Job {
  readonly done: Promise<void>
  readonly cancel: AbortController
  progress: FollowUp | null
}

/** The following up that is under way, by file: whoever asks at the same time waits for one and the same job. */
const underWay = new Map<string, Job>()
/** Files that a person wants left as they are, with the revision up to which. */
const heldBack = new Map<string, number>()
const listeners = new Set<(file: string) => void>()

const tell = (file: string) => {
  for (const listener of listeners) listener(file)
}

/** Calls a listener whenever the following up of a file goes on or ends; returns how to leave. */
export function onFollowUp(listener: (file: string) => void): () => void {
  listeners.add(listener)
  return () => listeners.delete(listener)
}

/** What is being done for the whole fleet of a file just now; null: nothing. */
export const followUpOf = (file: string): FollowUp | null => underWay.get(file)?.progress ?? null

/** The job, whose end it is no fault to be called off before. */
const unlessCalledOff = (job: Promise<void>): Promise<void> =>
  job.catch((error: unknown) => {
    if (!(error instanceof Error && error.name === 'AbortError')) throw error
  })

function catchUpOnce(file: string, now: number): Promise<void> {
  const running = underWay.get(file)
  if (running) return running.done
  const cancel = new AbortController()
  const done = catchUpInThread(file, now, {
    signal: cancel.signal,
    onProgress: ({ work, share }) => {
      if (work) job.progress = { work, share }
      tell(file)
    },
  }).finally(() => {
    underWay.delete(file)
    tell(file)
  })
  const job: Job = { done, cancel, progress: null }
  underWay.set(file, job)
  return done
}

/** Ends the following up of a file, and waits until it has; what is stored by then stays marked as behind. */
export async function callOffFollowUp(file: string): Promise<void> {
  const job = underWay.get(file)
  job?.cancel.abort()
  await job?.done.catch(() => undefined)
}

/** The same because a person wants it: it is not begun again before the record changes or somebody asks for it. */
export async function holdFollowUpBack(store: Store): Promise<void> {
  heldBack.set(store.file, (await readBooks(store.db)).revision)
  await callOffFollowUp(store.file)
  tell(store.file)
}

/** Begins the following up of a file that was held back, where it is behind. */
export async function followUpNow({ db, file }: Store, now: number, report: Report): Promise<void> {
  heldBack.delete(file)
  if (!(await isCurrent(db, now))) followInBackground(file, now, report)
  tell(file)
}

type Report = (error: unknown) => void

function followInBackground(file: string, now: number, report: Report): void {
  unlessCalledOff(catchUpOnce(file, now)).catch(report)
}

/** The same where nobody asked: not while a person wants the file left as it is. */
async function followUnlessHeld(store: Store, now: number, report: Report): Promise<void> {
  const held = heldBack.get(store.file)
  if (held !== undefined && (await readBooks(store.db)).revision === held) return
  heldBack.delete(store.file)
  followInBackground(store.file, now, report)
}

/**
 * When the stored judgements are of (ms UTC). Those of an earlier day, or of a record that has changed since, are made
 * anew in a thread meanwhile, and the screens ask again once they are there; only a file that was never judged is
 * waited for.
 */
export async function freshJudgements(store: Store, now: number, report: Report): Promise<number> {
  const books = await readBooks(store.db)
  if (books.judgedFor !== null) {
    if (!areJudgementsOf(books, now)) await followUnlessHeld(store, now, report)
    return books.judgedFor
  }
  await unlessCalledOff(catchUpOnce(store.file, now))
  return (await readBooks(store.db)).judgedFor ?? now
}

/** Whether the stored weights are those of the record; as `freshJudgements` otherwise. */
export async function freshWeighings(store: Store, now: number, report: Report): Promise<boolean> {
  const books = await readBooks(store.db)
  if (await areWeightsOf(store.db, books, now)) return true
  if (books.everWeighed) {
    await followUnlessHeld(store, now, report)
    return false
  }
  await unlessCalledOff(catchUpOnce(store.file, now))
  return (await readBooks(store.db)).weightsCurrent
}

/**
 * What every handler that changed the record ends with, after a revision: judges and weighs what the change touched, as
 * of now, so that who saved sees what came of it; the rest of the fleet follows in the shared job. A file that was
 * never judged waits for its first look.
 */
export async function afterChange(
  store: Store,
  { now, report, after }: { readonly now: number; readonly report: Report; readonly after: number },
): Promise<void> {
  if (await catchUpTouched(store, now, after)) return
  if ((await readBooks(store.db)).judgedFor !== null) await followUnlessHeld(store, now, report)
}

/** A small fleet is followed up within this, and is new when the answer comes. */
const patienceMs = 1500

/** The same for a change of the whole fleet, such as a House Rule's, which is waited for a moment. */
export async function afterFleetChange(store: Store, now: number, report: Report): Promise<void> {
  if (await catchUpTouched(store, now)) return
  heldBack.delete(store.file)
  let patience: NodeJS.Timeout | undefined
  const waited = new Promise<void>((end) => {
    patience = setTimeout(end, patienceMs)
  })
  await Promise.race([unlessCalledOff(catchUpOnce(store.file, now)).catch(report), waited])
  clearTimeout(patience)
}

/** Brings everything up to date and waits for it. Errors: those of `catchUpInThread`. */
export async function upToDate(store: Store, now: number): Promise<void> {
  if (await catchUpTouched(store, now)) return
  await catchUpOnce(store.file, now)
  // The job that was under way may have been begun on the day before.
  if (!(await isCurrent(store.db, now))) await catchUpOnce(store.file, now)
}

/** How far what is stored is behind the record, as a window tells it. */
export async function standingOf(store: Store): Promise<{
  current: boolean
  judgedOn: string | null
  following: FollowUp | null
  heldBack: boolean
}> {
  const books = await readBooks(store.db)
  return {
    current: await isCurrent(store.db, timeNow()),
    judgedOn: books.judgedFor === null ? null : dayOf(books.judgedFor, books.zone),
    following: followUpOf(store.file),
    heldBack: heldBack.get(store.file) === books.revision,
  }
}
