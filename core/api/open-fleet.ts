import { existsSync, statSync } from 'node:fs'
import { resolve } from 'node:path'
import { callOffFollowUp } from '#core/api/freshen.ts'
import { type NewsDesk, openNewsDesk } from '#core/api/news.ts'
import { type Presence, openPresence } from '#core/api/presence.ts'
import { type Tending, tendFile } from '#core/api/tend-file.ts'
import { checkOnce, forgetCheck, noteChecked } from '#core/jobs/checked-files.ts'
import { checkPagesInThread, isAtWork } from '#core/jobs/in-thread.ts'
import { timeNow } from '#core/store/clock.ts'
import { keepCopy, listCopyNames } from '#core/store/copies.ts'
import { changeMark } from '#core/store/file-state.ts'
import { type HeldLease, holdLease } from '#core/store/file-lease.ts'
import { type FileWatch, watchFiles } from '#core/store/file-watch.ts'
import { type LookCopy, lookOnlyError, makeLookCopy, notWritable, refuseIfToLook } from '#core/store/look-copy.ts'
import type { Harm } from '#core/store/look-over.ts'
import { type Store, openGuard, openStore, openUnchecked, smallBytes } from '#core/store/open.ts'
import { faultOf, mayBeWritten, openingError } from '#core/store/sqlite-fault.ts'
import { foldLog } from '#core/store/whole-copy.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/** A store that stays open until it is given back. */
export interface Lease {
  readonly store: Store
  giveBack(): void
}

/** What an open store is to the person. */
export interface OpenedAs {
  /** The file that was opened; what is looked at is a copy of it. */
  readonly file: string
  /** Of when it is, where it is open to look at only, ms UTC. */
  readonly lookedAt: number | null
}

/** The one fleet file the window works on; it can be changed for another while questions are still being answered. */
export interface OpenFleet {
  /** Tells whoever follows the open file that something may have happened to it. */
  readonly news: NewsDesk
  readonly presence: Presence
  /** The file that is open, or that should be. */
  file(): string
  /** Why the file cannot be worked on; then every question is refused with it. Undefined while it can. */
  trouble(): TarelineError | undefined
  /**
   * Asks the open file, which is not closed before it has answered, though another may be opened meanwhile. While the
   * pages of a large file are still being checked, a question that turns out to write is asked again once they are
   * known to be whole.
   */
  use<T>(question: (store: Store, as: OpenedAs) => Promise<T>): Promise<T>
  /**
   * The same for changes that last, as an import does: the file stays open until `giveBack` is called. Errors:
   * TarelineError `look-only`.
   */
  lease(): Lease
  /**
   * Opens another file, made where there is none; `look`: as it is now, to be looked at, so that nothing of it is ever
   * changed. When it cannot be opened the present one stays and the error is thrown.
   */
  open(file: string, options?: { readonly look?: boolean }): Promise<void>
  /**
   * Closes the file, lets `work` change what lies under its name, and opens what is there then, also after an error.
   * Errors: TarelineError `look-only`.
   */
  replace<T>(work: (file: string, isDamaged: boolean) => Promise<T>): Promise<T>
  /**
   * Tells of an error of work on the open file that went on beside it, such as a copy: where the file is damaged, it is
   * worked on no more.
   */
  noteFault(error: unknown): void
  /** Waits until the last question to every file has been answered and all are closed. */
  close(): Promise<void>
}

export interface FleetOptions {
  /** Takes down what no person at the screen can put right. */
  readonly report?: (error: unknown) => void
  /** Called whenever a file is open and its pages are known to be whole; null: one to look at only. */
  readonly onOpen?: (file: string | null) => void
  /** How long nobody must have written to a file before its log is moved into it, ms. */
  readonly quietMs?: number
}

interface Held {
  readonly store: Store
  /** The copy that stands in for a file which is only looked at. */
  look: LookCopy | undefined
  /** Settles once the pages are known to be whole, or not; undefined: they are. */
  readonly check: Promise<Harm> | undefined
  readonly watch: FileWatch
  readonly tending: Tending
  leases: number
  retired: boolean
  /** Says to other machines that this one has the file open; undefined where it is only looked at. */
  readonly lease: HeldLease | undefined
  /** It turned out damaged, or its log was taken away: it must be closed without a last write. */
  spoilt: boolean
  readonly guard: ReturnType<typeof openGuard>
  readonly closed: PromiseWithResolvers<void>
}

/** Damage that a copy can be restored in place of. */
const damages: ReadonlySet<string> = new Set(['damaged', 'not-a-database'])

/** An error that stops the work on a file: one of ours says why itself, any other is told by the sentence. */
const asDamage = (error: unknown, sentence: string): TarelineError =>
  error instanceof TarelineError ? error : new TarelineError('damaged', sentence, { cause: error })

const patienceMs = 10_000
const usualQuietMs = 3000
/** How often it is looked whether somebody meddles with the file, and whether it is quiet. */
const beatMs = 1000

type Holding = Partial<Pick<Held, 'check' | 'look'>> & { readonly quietMs: number }

function hold(opened: Store, { quietMs, check, look }: Holding): Held {
  // Nothing is written through the connection; threads may judge the copy anew.
  if (look) opened.raw.pragma('query_only = ON')
  const store: Store = look ? { ...opened, lookOnly: true } : opened
  return {
    store,
    look,
    check,
    watch: watchFiles(store.file),
    tending: tendFile(store, quietMs),
    guard: openGuard(store.file),
    lease: look ? undefined : holdLease(store.file),
    leases: 0,
    retired: false,
    spoilt: false,
    closed: Promise.withResolvers<void>(),
  }
}

/** The file that was opened, as its person knows it. */
const fileOf = ({ store, look }: Held): string => look?.original ?? store.file

async function closeFile({ store, guard, lease, spoilt, look }: Held): Promise<void> {
  if (!spoilt) guard?.close()
  await store.close({ untouched: spoilt || look !== undefined })
  if (spoilt) guard?.close()
  lease?.release()
  look?.remove()
}

function closeIfIdle(held: Held): void {
  if (!held.retired || held.leases > 0) return
  closeFile(held).then(held.closed.resolve, held.closed.reject)
}

function retire(held: Held): Promise<void> {
  if (!held.retired) {
    held.retired = true
    closeIfIdle(held)
  }
  return held.closed.promise
}

const sizeOf = (file: string): number => statSync(file, { throwIfNoEntry: false })?.size ?? 0

/** An empty name is a new fleet's, unless copies of a fleet, or the log of one, lie beside it: then a file was lost. */
function refuseLostFile(file: string): void {
  if (sizeOf(file) > 0) return
  if (listCopyNames(file).length > 0 || existsSync(`${file}-wal`)) {
    throw new TarelineError(
      'lost',
      phrase(
        '{file} is {file2}, though copies of it are kept: it was removed, renamed or moved. Restore a copy, or put the file back and open it again.',
        { file, file2: existsSync(file) ? 'empty' : phrase('not there') },
      ),
    )
  }
}

/** A large file for questions at once, while its pages are being checked; any other once they have been. */
async function openWhatIsThere(file: string, holding: Holding): Promise<Held> {
  const unchecked = sizeOf(file) > smallBytes ? openUnchecked(file) : undefined
  if (unchecked) return hold(unchecked, { ...holding, check: checkOnce(file, checkPagesInThread) })
  const store = await openStore(file)
  noteChecked(file)
  return hold(store, holding)
}

/** What is wrong with the copy that is looked at is so of the file. */
const asOfOriginal = (error: unknown, { file, original }: LookCopy): unknown =>
  error instanceof TarelineError
    ? new TarelineError(error.code, error.message.replaceAll(file, original), { cause: error })
    : error

/** Opens a file to look at. Errors: those of `openStore` and `makeLookCopy`; `missing`. */
async function openLook(file: string, quietMs: number): Promise<Held> {
  if (sizeOf(file) === 0) throw new TarelineError('missing', phrase('There is nothing to look at in {file}.', { file }))
  const look = await makeLookCopy(file, timeNow())
  try {
    return await openWhatIsThere(look.file, { quietMs, look })
  } catch (error) {
    look.remove()
    throw asOfOriginal(error, look)
  }
}

/** Opens a file for changes. Errors: those of `openStore`; `lost`. */
async function openHeld(name: string, quietMs: number): Promise<Held> {
  const file = resolve(name)
  try {
    refuseLostFile(file)
    if (sizeOf(file) > 0 && !mayBeWritten(file)) throw notWritable(file)
  } catch (error) {
    throw openingError(error, file)
  }
  return await openWhatIsThere(file, { quietMs })
}

/**
 * A file that cannot be opened, but for which a copy may be restored, or that can be looked at, or another thing be
 * done in the window.
 */
const isForTheWindow = (error: unknown, file: string): error is TarelineError =>
  error instanceof TarelineError &&
  (error.code === 'damaged' ||
    error.code === 'lost' ||
    ((error.code === 'read-only' || error.code === 'disk-full') && sizeOf(file) > 0) ||
    (error.code === 'not-a-database' && listCopyNames(file).length > 0))

/**
 * Opens the first file. One that is damaged or lost leaves the fleet closed and in `trouble`, so that the window can
 * offer a copy. Errors: those of `openStore` otherwise.
 */
export async function openFleet(
  first: string,
  { report = () => {}, onOpen = () => {}, quietMs = usualQuietMs }: FleetOptions = {},
): Promise<OpenFleet> {
  let name = resolve(first)
  let current: Held | undefined
  let trouble: TarelineError | undefined
  let turns: Promise<unknown> = Promise.resolve()
  const closing = new Set<Promise<void>>()

  const news = openNewsDesk(() => {
    try {
      return current && changeMark(current.store)
    } catch {
      // Whoever asks the file next tells what is wrong with it.
      return undefined
    }
  })

  const letGo = (held: Held): Promise<void> => {
    const closed = retire(held)
    closing.add(closed)
    closed.then(
      () => closing.delete(closed),
      () => undefined,
    )
    return closed
  }

  /** The file can no longer be worked on: it is closed as it is, and what is asked from now on is refused. */
  const stop = (held: Held, error: TarelineError): void => {
    if (current !== held) return
    trouble = error
    current = undefined
    held.spoilt ||= damages.has(error.code)
    forgetCheck(held.store.file)
    letGo(held).catch(report)
  }

  /** Opens a file for changes, now that its pages are known to be whole. */
  const openWhole = async (held: Held, harm: Harm): Promise<void> => {
    if (current !== held) return
    const { look } = held
    const store = await openStore(held.store.file, { mustExist: true, checked: true, harm })
    current = hold(store, { quietMs, look })
    // What it reads stays for its successor.
    held.look = undefined
    letGo(held).catch(report)
    onOpen(look ? null : name)
  }

  /**
   * Takes the place of the present file; one whose pages are still being checked is opened for changes once they are
   * whole.
   */
  const place = (held: Held): void => {
    current = held
    trouble = undefined
    name = fileOf(held)
    news.tell()
    if (!held.check) {
      onOpen(held.look ? null : name)
      return
    }
    held.check
      .then((harm) => inTurn(() => openWhole(held, harm)))
      .catch((error: unknown) => {
        if (!(error instanceof TarelineError)) report(error)
        const said = held.look ? asOfOriginal(error, held.look) : error
        stop(
          held,
          asDamage(
            said,
            phrase('{name} could not be checked and is not opened for changes. Start Tareline again.', { name }),
          ),
        )
      })
  }

  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const turn = turns.then(work)
    turns = turn.catch(() => undefined)
    return turn
  }

  /** What another program took away while it was open is still whole in the open connection: it is kept as a copy. */
  const rescue = async (held: Held, lost: string): Promise<void> => {
    if (current !== held) return
    stop(
      held,
      new TarelineError(
        'lost',
        phrase('{lost} A copy of all that was saved is being kept. Look again in a moment.', { lost }),
      ),
    )
    held.leases += 1
    try {
      await keepCopy(held.store.raw, name, 'rescued')
      trouble = new TarelineError(
        'lost',
        phrase('{lost} All that was saved is in the newest copy: restore it, or put the file back and open it again.', {
          lost,
        }),
      )
    } catch (error) {
      report(error)
      trouble = new TarelineError(
        'lost',
        phrase('{lost} Put it back where it was and open it again, or restore a copy.', { lost }),
        {
          cause: error,
        },
      )
    } finally {
      held.leases -= 1
      closeIfIdle(held)
    }
  }

  /**
   * Somebody laid another file over the open one: what lies there is left as it is, and nothing of ours goes into it.
   */
  const stopIfOverwritten = async (held: Held): Promise<void> => {
    if (current !== held || (await held.watch.isSequel())) return
    stop(
      held,
      new TarelineError(
        'damaged',
        phrase(
          '{name} was overwritten by another program while it was open. Nothing more is written to it. Restore the newest copy, or open it again to work with what lies there now.',
          { name },
        ),
      ),
    )
  }

  /** What somebody did to the files of an open fleet, and what follows from it. */
  const examine = async (held: Held): Promise<void> => {
    const found = held.watch.look()
    if (found === undefined || current !== held) return
    if (found === 'moved')
      return await rescue(
        held,
        phrase('{name} was removed, renamed or replaced by another program while it was open.', { name }),
      )
    if (found === 'log-gone') {
      // A second window may have made a log of its own: nothing of this one's may go into the file.
      held.spoilt = true
      return await rescue(
        held,
        phrase('The files beside {name} that hold its newest saves (-wal, -shm) were removed by another program.', {
          name,
        }),
      )
    }
    // What a change that is under way writes is accepted at its end.
    if (isAtWork(held.store.file) || held.watch.mayBeOwn(held.store.raw)) return
    await stopIfOverwritten(held)
  }

  const refuseIfTampered = async (held: Held): Promise<void> => {
    // The copy that is looked at is this program's alone.
    if (held.look || held.watch.look() === undefined || current !== held) return
    await inTurn(() => examine(held))
    if (trouble) throw trouble
  }

  /** After a question: what is written to the file by now, its own connection wrote. */
  const refuseIfTakenAway = async (held: Held): Promise<void> => {
    if (held.look) return
    if (held.watch.look() === 'written') held.watch.accept(held.store.raw)
    await refuseIfTampered(held)
    if (current === held) held.watch.accept(held.store.raw)
  }

  /** Another machine has opened the file, as one may whose clock is far off: nothing more of this one goes into it. */
  const stopIfHeldElsewhere = (held: Held): void => {
    try {
      held.lease?.beat()
    } catch (error) {
      if (!(error instanceof TarelineError)) throw error
      held.spoilt = true
      stop(held, error)
    }
  }

  /** Looks whether all is well with the file, and tends it while it is quiet. */
  const beat = async (held: Held): Promise<void> => {
    held.leases += 1
    try {
      stopIfHeldElsewhere(held)
      await refuseIfTampered(held)
      if (current === held && !held.check && (await held.tending.tend()) && current === held)
        held.watch.accept(held.store.raw)
    } catch (error) {
      noteFault(error)
      // What the disk or another program did, whoever asks next is told.
      if (!(error instanceof TarelineError) && faultOf(error) === undefined) report(error)
    } finally {
      held.leases -= 1
      closeIfIdle(held)
    }
  }
  let isBeating = false
  const heart = setInterval(
    () => {
      const held = current
      if (!held || held.look || isBeating) return
      isBeating = true
      const rest = () => {
        isBeating = false
      }
      beat(held).then(rest, (error: unknown) => {
        rest()
        report(error)
      })
    },
    Math.min(beatMs, quietMs),
  ).unref()

  const noteFault = (error: unknown): void => {
    const held = current
    const code = error instanceof TarelineError ? error.code : faultOf(error)
    if (!held || code === undefined || !damages.has(code)) return
    stop(
      held,
      asDamage(
        error,
        phrase('{name} is damaged. It is left as it is. Restore the newest copy that is whole.', { name }),
      ),
    )
  }

  const take = (): { held: Held; giveBack: () => void } => {
    const held = current
    if (!held)
      throw trouble ?? new TarelineError('closed', phrase('No fleet file is open just now. Try again in a moment.'))
    held.leases += 1
    let given = false
    return {
      held,
      giveBack: () => {
        if (given) return
        given = true
        held.leases -= 1
        closeIfIdle(held)
      },
    }
  }

  const use = async <T>(question: (store: Store, as: OpenedAs) => Promise<T>): Promise<T> => {
    // A file that is being replaced is open again in a moment.
    if (!current && !trouble) await turns
    const { held, giveBack } = take()
    try {
      await refuseIfTampered(held)
      const answer = await question(held.store, { file: fileOf(held), lookedAt: held.look?.at ?? null })
      await refuseIfTakenAway(held)
      return answer
    } catch (error) {
      const fault = faultOf(error)
      if (held.look && fault === 'read-only') throw lookOnlyError()
      if (held.check && fault === 'read-only') {
        giveBack()
        await held.check
        await turns
        return await use(question)
      }
      if (fault === 'disk-full') foldLog(held.store.raw)
      if (current === held) noteFault(error)
      throw error
    } finally {
      giveBack()
    }
  }

  const change = async (next: string, look: boolean): Promise<void> => {
    const file = resolve(next)
    const before = current
    if (before && !look && !before.look && file === fileOf(before)) return
    const held = await (look ? openLook(file, quietMs) : openHeld(file, quietMs))
    if (before) {
      forgetCheck(before.store.file)
      callOffFollowUp(before.store.file).catch(report)
      letGo(before).catch(report)
    }
    place(held)
  }

  /** Opens what lies under the name now, or keeps why it cannot be opened for the window. */
  const reopen = async (): Promise<void> => {
    try {
      place(await openHeld(name, quietMs))
    } catch (error) {
      if (!(error instanceof TarelineError)) throw error
      trouble = error
    }
  }

  const replace = async <T>(work: (file: string, isDamaged: boolean) => Promise<T>): Promise<T> => {
    const held = current
    if (held) refuseIfToLook(held.store)
    const isDamaged = trouble !== undefined && damages.has(trouble.code)
    const before = trouble
    if (held) {
      const until = performance.now() + patienceMs
      await callOffFollowUp(name)
      current = undefined
      while (held.leases > 0) {
        if (performance.now() > until) {
          current = held
          throw new TarelineError(
            'busy',
            phrase(
              'The fleet file is still at work, for example on an import. Wait until that is done, then try again.',
            ),
          )
        }
        await new Promise((again) => {
          setTimeout(again, 50)
        })
      }
      forgetCheck(name)
      await letGo(held)
    }
    trouble = undefined
    try {
      return await work(name, isDamaged)
    } catch (error) {
      trouble = before
      throw error
    } finally {
      if (!trouble) await reopen()
    }
  }

  try {
    place(await openHeld(name, quietMs))
  } catch (error) {
    if (!isForTheWindow(error, name)) {
      clearInterval(heart)
      throw error
    }
    trouble = error
  }

  return {
    news,
    presence: openPresence(news.tell),
    file: () => name,
    trouble: () => trouble,
    lease: () => {
      if (current) refuseIfToLook(current.store)
      const {
        held: { store },
        giveBack,
      } = take()
      return { store, giveBack }
    },
    use,
    noteFault,
    open: (next, { look = false } = {}) => inTurn(() => change(next, look)),
    replace: (work) => inTurn(() => replace(work)),
    close: async () => {
      clearInterval(heart)
      news.end()
      await callOffFollowUp(current?.store.file ?? name)
      await turns
      const held = current
      current = undefined
      if (held) {
        forgetCheck(held.store.file)
        closing.add(retire(held))
      }
      await Promise.all(closing)
    },
  }
}
