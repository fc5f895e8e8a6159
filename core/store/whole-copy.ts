import { phrase } from '#core/words/phrase.ts'
import Database from 'better-sqlite3'
import { randomUUID } from 'node:crypto'
import {
  closeSync,
  existsSync,
  fsyncSync,
  linkSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { dirname, join } from 'node:path'
import { stepOf } from '#core/store/look.ts'
import { type Harm, damagedError, lookOver, mend, sayHarm } from '#core/store/look-over.ts'
import { countRows } from '#core/store/rows.ts'
import { isRunning } from '#core/store/running.ts'
import { sealWritten } from '#core/store/seals.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'

export interface WholeCopy {
  readonly tables: number
  readonly rows: number
  /** What of the file was damaged and has been made anew, in the copy and, where it may be written, in the file. */
  readonly harm: Harm
}

const pagesPerStep = 2000
const sideFiles = ['', '-wal', '-shm', '-journal'] as const
/** What nobody has touched for so long, and whose program is gone, is not being written. */
export const staleMs = 10 * 60_000

/** Removes a database with all that SQLite may have put beside it. */
export const removeDatabase = (file: string): void => {
  for (const end of sideFiles) rmSync(file + end, { force: true })
}

/** Damage that came with a copy: of the file that was copied, or of the way. */
class DamagedCopy extends Error {
  readonly harm: Harm

  constructor(harm: Harm) {
    super(`the copy is damaged: ${sayHarm(harm.damage)}`)
    this.harm = harm
  }
}

/**
 * Looks a copy over as thoroughly as anything is: this is the day's check of the file too. What can be made anew is
 * made anew in the copy; answers it. Errors: DamagedCopy; TarelineError `damaged-copy`.
 */
async function verify(
  copy: string,
  expected: ReadonlyMap<string, number>,
  complete: (copied: Database.Database) => void,
): Promise<Harm> {
  const raw = new Database(copy)
  try {
    const step = stepOf(raw)
    const harm = await lookOver(raw, step, 'all')
    if (harm.damage.length > 0) throw new DamagedCopy(harm)
    const found = countRows(raw)
    for (const [table, rows] of expected) {
      if (found.get(table) !== rows)
        throw new TarelineError(
          'damaged-copy',
          phrase('The copy has {found} rows in {table} where the file has {rows}, and was removed. Try again.', {
            found: found.get(table) ?? 0,
            table,
            rows,
          }),
        )
    }
    await mend(raw, copy, step, harm)
    sealWritten(raw)
    complete(raw)
    return harm
  } finally {
    raw.close()
  }
}

function sync(path: string, flags: 'r' | 'r+'): void {
  const handle = openSync(path, flags)
  try {
    fsyncSync(handle)
  } finally {
    closeSync(handle)
  }
}

/** Writes a new file and has the disk keep it. Errors: the system's; EEXIST where there is one. */
export function writeSynced(path: string, content: string | Uint8Array): void {
  const file = openSync(path, 'wx')
  try {
    writeFileSync(file, content)
    fsyncSync(file)
  } finally {
    closeSync(file)
  }
}

/** Has the disk keep a file's bytes. */
export const syncFile = (file: string): void => sync(file, 'r+')

/** Has the disk keep what was renamed or made in a folder; Windows keeps it by itself and has no such call. */
export function syncFolder(folder: string): void {
  if (process.platform !== 'win32') sync(folder, 'r')
}

/** Gives an unfinished file its name, never in the place of another; errors EEXIST where there is one. */
export function publish(unfinished: string, to: string): void {
  try {
    linkSync(unfinished, to)
    rmSync(unfinished)
  } catch (error) {
    const code = codeOf(error) ?? ''
    // Memory sticks know no second name of a file.
    if (!['EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EINVAL'].includes(code)) throw error
    if (existsSync(to)) throw Object.assign(new Error(`${to} exists`), { code: 'EEXIST' })
    renameSync(unfinished, to)
  }
  syncFolder(dirname(to))
}

/**
 * A name beside `to` that tells whose unfinished work it is, and that no other work has: threads of one program make
 * copies in the same millisecond.
 */
export const unfinishedName = (to: string): string => join(dirname(to), `.${process.pid}-${randomUUID()}.unfinished`)

/**
 * Removes what a program that was ended in the middle of a copy has left in a folder; what may still be written stays.
 */
export function sweepUnfinished(folder: string): void {
  // The clock of the disk, whatever the program's own says.
  const now = Date.now()
  for (const name of readdirSync(folder)) {
    const pid = /^\.(\d+)-[\da-f-]+\.unfinished/.exec(name)?.[1]
    if (pid === undefined || isRunning(Number(pid))) continue
    const path = join(folder, name)
    const { mtimeMs } = statSync(path, { throwIfNoEntry: false }) ?? { mtimeMs: now }
    if (Math.abs(now - mtimeMs) > staleMs) rmSync(path, { force: true })
  }
}

/**
 * Copies an open database to `to` as it stands at this moment, whatever is written meanwhile. The copy is written whole
 * under another name, checked (every page, and the rows of every table), kept by the disk, and only then gets its name.
 * complete: puts what the copy names beside it, attachments, so that no copy has its name without them.
 *
 * What was damaged in the file itself and can be made anew from its rows is made anew there too, where it may be
 * written.
 *
 * Errors: TarelineError `file-exists`, `disk-full`, `read-only`, `damaged` where it is the file itself, `damaged-copy`,
 * `backup-failed`; then nothing of it is left.
 */
export async function writeWholeCopy(
  raw: Database.Database,
  file: string,
  to: string,
  complete: (copied: Database.Database) => void = () => undefined,
): Promise<WholeCopy> {
  const unfinished = unfinishedName(to)
  try {
    // A read transaction holds the moment: what others write during the copy is not in it.
    raw.exec('begin')
    const rows = countRows(raw)
    await raw.backup(unfinished, { progress: () => pagesPerStep })
    const harm = await verify(unfinished, rows, complete)
    syncFile(unfinished)
    publish(unfinished, to)
    raw.exec('rollback')
    if (mayWrite(raw)) await mend(raw, file, stepOf(raw), harm)
    return { tables: rows.size, rows: [...rows.values()].reduce((sum, count) => sum + count, 0), harm }
  } catch (error) {
    if (error instanceof TarelineError) throw error
    if (error instanceof DamagedCopy) throw await whoseDamage(raw, file, error.harm)
    if (codeOf(error) === 'EEXIST') {
      throw new TarelineError(
        'file-exists',
        phrase('{to} exists already. Name a new file for the copy of {file}.', { to, file }),
        {
          cause: error,
        },
      )
    }
    throw copyError(error, file, to)
  } finally {
    if (raw.inTransaction) raw.exec('rollback')
    removeDatabase(unfinished)
  }
}

const mayWrite = (raw: Database.Database): boolean => !raw.readonly && raw.pragma('query_only', { simple: true }) === 0

/** Whether the damage of a copy is that of the file it was made of. */
async function whoseDamage(raw: Database.Database, file: string, ofCopy: Harm): Promise<TarelineError> {
  const harm = await lookOver(raw, stepOf(raw), 'all')
  return harm.damage.length > 0
    ? damagedError(file, harm)
    : new TarelineError(
        'damaged-copy',
        phrase('The copy came out damaged ({damage}) and was removed; {file} itself is whole. Try another disk.', {
          damage: sayHarm(ofCopy.damage),
          file,
        }),
      )
}

function copyError(error: unknown, file: string, to: string): TarelineError {
  const cause = { cause: error }
  const fault = faultOf(error)
  if (fault === 'disk-full')
    return new TarelineError(
      'disk-full',
      phrase('There is no room for the copy {to}. Free some space on that disk, then try again.', { to }),
      cause,
    )
  if (fault === 'damaged')
    return new TarelineError(
      'damaged',
      phrase(
        '{file} is damaged, so that no copy of it could be made. Restore the newest copy from its copies folder.',
        { file },
      ),
      cause,
    )
  if (fault === 'read-only')
    return new TarelineError(
      'read-only',
      phrase('The copy {to} could not be made: its folder cannot be written to. Choose a folder that you may change.', {
        to,
      }),
      cause,
    )
  return new TarelineError(
    'backup-failed',
    phrase('The copy {to} could not be made: {why}.', {
      to,
      why: error instanceof Error ? error.message : String(error),
    }),
    cause,
  )
}

/**
 * Moves what is saved out of the write-ahead log into the file and gives the log's room back to the disk, as after work
 * that came to nothing: its part of the log stays otherwise, which may be much. Where others are reading or the disk is
 * too full it is left for the next time.
 */
export function foldLog(raw: Database.Database): void {
  try {
    raw.pragma('wal_checkpoint(TRUNCATE)')
  } catch (error) {
    const fault = faultOf(error)
    if (fault !== 'disk-full' && fault !== 'locked') throw error
  }
}

/** The same without waiting for anybody, and counted in the file; whether all that is saved is in it now. */
export function foldLogNow(raw: Database.Database): boolean {
  const patience = raw.pragma('busy_timeout', { simple: true })
  try {
    raw.pragma('busy_timeout = 0')
    raw.exec('update folded set times = times + 1')
    const [{ log, checkpointed } = { log: 1, checkpointed: 0 }] = raw.pragma('wal_checkpoint(TRUNCATE)') as {
      log: number
      checkpointed: number
    }[]
    return log === checkpointed
  } catch (error) {
    const fault = faultOf(error)
    if (fault !== 'disk-full' && fault !== 'locked') throw error
    return false
  } finally {
    raw.pragma(`busy_timeout = ${patience}`)
  }
}

/**
 * Has what an import brings into a file that it has made written to the file at once, and not to its log first, which
 * is to write all of it twice: nobody else reads the file yet. A kill leaves the journal by which the next opening
 * makes the file empty again. What it returns has the log back.
 */
export function pastTheLog(raw: Database.Database): () => void {
  raw.pragma('journal_mode = DELETE')
  return () => {
    try {
      raw.pragma('journal_mode = WAL')
    } catch (error) {
      // Somebody has come to look at it meanwhile; whoever opens it next asks for the log too.
      if (faultOf(error) !== 'locked') throw error
    }
  }
}
