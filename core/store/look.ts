import { phrase } from '#core/words/phrase.ts'
import Database from 'better-sqlite3'
import { closeSync, existsSync, openSync, readSync } from 'node:fs'
import { codeOf, TarelineError } from '#core/words/problem.ts'

/** "TARE" in ASCII: marks the file as ours in the SQLite header (PRAGMA application_id). */
export const applicationId = 0x54415245

export const isMarkedOurs = (raw: Database.Database): boolean =>
  raw.pragma('application_id', { simple: true }) === applicationId

/**
 * Lets what a file's own schema says do no more than what every file may: a trigger, view or default of somebody else's
 * calls no function that reaches beyond the file. (Defensive mode, in which nothing writes into the schema or past
 * SQLite's own checks, is how the driver opens every file.)
 */
export const distrust = (raw: Database.Database): void => {
  raw.pragma('trusted_schema = OFF')
}

/** The schema step that a file is at. */
export const stepOf = (raw: Database.Database): number => Number(raw.pragma('user_version', { simple: true }))

/**
 * The mark as it lies in the file's head, without SQLite: bytes 68 to 71, the most significant first (SQLite's file
 * format).
 */
function isMarkedAsOurs(file: string): boolean {
  const mark = Buffer.alloc(4)
  const handle = openSync(file, 'r')
  try {
    return readSync(handle, mark, 0, 4, 68) === 4 && mark.readUInt32BE() === applicationId
  } finally {
    closeSync(handle)
  }
}

/**
 * Whether a change was cut off whose journal SQLite must play back before the file can be read, which changes it. A
 * journal whose program still runs, or that was let go, is none of these.
 */
function isCutOff(raw: Database.Database): boolean {
  try {
    raw.pragma('user_version')
    return false
  } catch (error) {
    if (codeOf(error) === 'SQLITE_READONLY_ROLLBACK') return true
    throw error
  }
}

/**
 * A connection for a look that changes nothing. It is read-only where a log or a journal lies beside the file, which
 * must stay for its owner; else it may write and does not, since only then SQLite takes its own side files away again.
 * Of a file of our own that was cut off in the middle of a change the journal is played back, without which nobody
 * could read it.
 */
export function openToLook(file: string): Database.Database {
  const open = (readonly: boolean) => new Database(file, { readonly, fileMustExist: true, timeout: 5000 })
  const hasJournal = existsSync(`${file}-journal`)
  let raw = open(hasJournal || existsSync(`${file}-wal`))
  try {
    if (hasJournal && isCutOff(raw)) {
      if (!isMarkedAsOurs(file))
        throw new TarelineError(
          'not-a-database',
          phrase('{file} is a database of another program. Choose the file of a fleet, or a new name to start one.', {
            file,
          }),
        )
      raw.close()
      raw = open(false)
    }
    distrust(raw)
    raw.pragma('query_only = ON')
    return raw
  } catch (error) {
    raw.close()
    throw error
  }
}

/** Looks into a file without changing it, not even its journal. */
export function withLook<T>(file: string, look: (raw: Database.Database) => T): T {
  const raw = openToLook(file)
  try {
    return look(raw)
  } finally {
    raw.close()
  }
}

/** SQLite complains over several lines, the first of which only names the database. */
export const firstComplaint = (text: string): string => text.replace(/^\*\*\*.*\n/, '').split('\n', 1)[0] ?? text
