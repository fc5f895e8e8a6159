import { phrase } from '#core/words/phrase.ts'
import { createHash } from 'node:crypto'
import { existsSync } from 'node:fs'
import { readFile, readdir, rename, rm, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { DemoFile } from '#core/api/context.ts'
import { newestReadingIn, writeMovedFolder } from '#core/exchange/moved-folder.ts'
import { bringInFolder, keepCopyInThread } from '#core/jobs/in-thread.ts'
import { timeNow } from '#core/store/clock.ts'
import { nextCopy } from '#core/store/copies.ts'
import { recordMark } from '#core/store/file-facts.ts'
import { withLook } from '#core/store/look.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { dayMs } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { userFolder } from '#electron/session.ts'

/** Names the content of a folder: another text whenever a file of it has changed, come or gone. */
async function fingerprint(folder: string): Promise<string> {
  const hash = createHash('sha256')
  for (const name of (await readdir(folder)).toSorted()) {
    const bytes = await readFile(join(folder, name))
    hash.update(`${name} ${bytes.byteLength}\n`).update(bytes)
  }
  return hash.digest('hex')
}

/**
 * By how many days the demo's story is moved so that it ends within the week before now: whole weeks, so that weekdays
 * stay weekdays. storyEnds: its newest reading, ms UTC; null where it has none.
 */
const daysToMove = (storyEnds: number | null, now: number): number =>
  storyEnds === null ? 0 : 7 * Math.floor((now - storyEnds) / (7 * dayMs))

/** What the demo's database was made of, and how it stood then. */
interface Made {
  readonly of: string
  /** ms UTC; null: it has no reading. */
  readonly storyEnds: number | null
  readonly movedByDays: number
  readonly record: string
}

/** A note that is missing or cannot be read tells of a file of which nothing is known. */
const readMade = (text: string): Partial<Made> => {
  try {
    return JSON.parse(text) as Made
  } catch {
    return {}
  }
}

const removeDatabase = async (file: string) => {
  for (const ending of ['', '-wal', '-shm']) await rm(file + ending, { force: true })
}

/** Makes the database of a fleet folder whose times are moved by whole days; answers the mark of its record. */
async function make(file: string, fleetFolder: string, days: number): Promise<string> {
  const unfinished = `${file}.${process.pid}.unfinished`
  const moved = `${unfinished} folder`
  await removeDatabase(unfinished)
  try {
    if (days !== 0) await writeMovedFolder(fleetFolder, moved, days)
    const outcome = await bringInFolder(unfinished, days === 0 ? fleetFolder : moved, {})
    if (outcome.outcome === 'refused')
      throw new Error(`the demo fleet was refused: ${JSON.stringify(outcome.problems.slice(0, 3))}`)
    const record = withLook(unfinished, recordMark)
    await removeDatabase(file)
    await rename(unfinished, file)
    return record
  } finally {
    await removeDatabase(unfinished)
    await rm(moved, { recursive: true, force: true })
  }
}

/** Of a file that cannot be read, no copy can be made. */
const isUnreadable = (error: unknown): boolean => {
  const code = error instanceof TarelineError ? error.code : faultOf(error)
  return code === 'damaged' || code === 'damaged-copy' || code === 'not-a-database'
}

/**
 * Keeps a demo that somebody has changed among its copies, where it can be looked up and restored; one that cannot be
 * read goes there as it is. Errors: those of `keepCopy`.
 */
async function keepWhatWasChanged(file: string, { record }: Partial<Made>): Promise<void> {
  try {
    if (withLook(file, recordMark) !== record) await keepCopyInThread(file, 'before-import')
  } catch (error) {
    if (!isUnreadable(error)) throw error
    await rename(file, nextCopy(file, 'rescued', timeNow()))
  }
}

/**
 * The demo fleet's database in the user's own data folder, made from the fleet folder that comes with the app, and made
 * anew when a week has gone by, so that its story always ends a few days ago.
 */
export function demoFile(fleetFolder: string, home = userFolder(), clock = timeNow): DemoFile {
  const file = join(home, 'demo.tareline')
  const note = join(home, 'demo.made.json')
  let preparing: Promise<void> | undefined

  const prepare = async () => {
    if (!existsSync(fleetFolder))
      throw new TarelineError('no-demo', phrase('The demo fleet is not part of this copy of Tareline.'))
    const wanted = await fingerprint(fleetFolder)
    const made = existsSync(file) ? readMade(await readFile(note, 'utf8').catch(() => '')) : undefined
    const isOfThese = made?.of === wanted
    const storyEnds = (isOfThese ? made.storyEnds : await newestReadingIn(fleetFolder)) ?? null
    const days = daysToMove(storyEnds, clock())
    if (isOfThese && made.movedByDays === days) return
    if (made) {
      // Open in another window: it is not taken from under its person.
      if (existsSync(`${file}-shm`)) return
      await keepWhatWasChanged(file, made)
    }
    const record = await make(file, fleetFolder, days)
    await writeFile(note, JSON.stringify({ of: wanted, storyEnds, movedByDays: days, record } satisfies Made))
  }

  // Two windows that ask at the same time wait for the same file.
  return {
    file,
    from: fleetFolder,
    prepare: () =>
      (preparing ??= prepare().finally(() => {
        preparing = undefined
      })),
  }
}
