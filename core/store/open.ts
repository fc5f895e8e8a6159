import { existsSync, mkdirSync, renameSync, statSync } from 'node:fs'
import { basename, dirname, join, resolve } from 'node:path'
import Database from 'better-sqlite3'
import { Kysely, type Transaction, SqliteDialect } from 'kysely'
import { Migrator } from 'kysely/migration'
import { TarelineError } from '#core/fleet/problem.ts'
import type { Schema } from '#core/store/schema.ts'
import { migrations } from '#migrations/index.ts'

export type Reader = Pick<Kysely<Schema>, 'selectFrom' | 'with'>
export type Writer = Transaction<Schema>

/** An open fleet database: the Kysely view for questions, the raw handle for bulk work and pragmas. */
export interface Store {
  readonly file: string
  readonly db: Kysely<Schema>
  readonly raw: Database.Database
  close(): Promise<void>
}

/** "TARE" in ASCII: marks the file as ours in the SQLite header (PRAGMA application_id). */
export const applicationId = 0x54415245
/** The schema step that this version of the app writes. */
export const latestStep = Object.keys(migrations).length

/** Why a file cannot be opened, each with a sentence for the person who chose it. */
export function openingError(error: unknown, file: string): TarelineError {
  if (error instanceof TarelineError) return error
  const code = error instanceof Error && 'code' in error ? String(error.code) : ''
  const cause = { cause: error }
  if (code === 'SQLITE_NOTADB') return new TarelineError('not-a-database', `${file} is not a Tareline database. Choose the file of a fleet, or a new name to start one.`, cause)
  if (code.startsWith('SQLITE_CORRUPT')) return new TarelineError('damaged', `${file} is damaged and was left as it is. Restore the newest copy from its copies folder.`, cause)
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) return new TarelineError('locked', `${file} is in use by another program. Close that program, then open the file again.`, cause)
  if (code.startsWith('SQLITE_READONLY') || code === 'EACCES' || code === 'EROFS') return new TarelineError('read-only', `${file} or its folder cannot be written to. Choose a folder that you may change.`, cause)
  if (code === 'SQLITE_FULL' || code === 'ENOSPC') return new TarelineError('disk-full', `The disk that holds ${file} is full. Free some space, then open the file again.`, cause)
  if (code.startsWith('SQLITE_CANTOPEN') || code === 'ENOENT' || code === 'EISDIR' || code === 'ENOTDIR') return new TarelineError('cannot-open', `${file} cannot be opened. Check that the folder exists and that the name is a file.`, cause)
  return new TarelineError('cannot-open', `${file} cannot be opened: ${error instanceof Error ? error.message : String(error)}.`, cause)
}

/** Is this ours, and not from a newer version of the app? Returns its step. */
function inspect(raw: Database.Database, file: string): number {
  const tables = raw.prepare("select count(*) from sqlite_schema where type = 'table'").pluck().get() as number
  if (tables === 0) return 0
  if (raw.pragma('application_id', { simple: true }) !== applicationId) {
    throw new TarelineError('not-a-database', `${file} is a database of another program. Choose the file of a fleet, or a new name to start one.`)
  }
  const step = raw.pragma('user_version', { simple: true }) as number
  if (step > latestStep) throw new TarelineError('newer', `${file} was written by a newer version of Tareline (step ${step}; this version knows ${latestStep}). Install the newer version; the file was not changed.`)
  return step
}

/** SQLite complains over several lines, the first of which only names the database. */
export const firstComplaint = (text: string): string => text.replace(/^\*\*\*.*\n/, '').split('\n', 1)[0] ?? text

/** Every page read once: seconds for a large file, so it is done once an opening. */
function checkWhole(raw: Database.Database, file: string): void {
  const complaint = raw.pragma('quick_check(1)', { simple: true })
  if (complaint !== 'ok') throw new TarelineError('damaged', `${file} is damaged and was left as it is (${firstComplaint(String(complaint))}). Restore the newest copy from its copies folder.`)
}

/**
 * Copies an open database, complete with what is still in its write-ahead log, beside it into the folder
 * `NAME copies`; returns the copy's path. The copy appears under its name only when it is whole.
 */
export function keepCopy(raw: Database.Database, file: string, label: string): string {
  const folder = join(dirname(file), `${basename(file)} copies`)
  mkdirSync(folder, { recursive: true })
  const stamp = new Date().toISOString().replaceAll(':', '').replace('.', '')
  const copy = join(folder, `${label}-${stamp}.tareline`)
  const unfinished = `${copy}.unfinished`
  raw.prepare('vacuum into ?').run(unfinished)
  renameSync(unfinished, copy)
  return copy
}

/**
 * A connection for a look that changes nothing. It is read-only where a log lies beside the file, which must stay for its
 * owner; else it may write and does not, since only then SQLite takes its own side files away again.
 */
export function openToLook(file: string): Database.Database {
  const raw = new Database(file, { readonly: existsSync(`${file}-wal`) || existsSync(`${file}-journal`), fileMustExist: true, timeout: 5000 })
  raw.pragma('query_only = ON')
  return raw
}

/** Runs the missing steps as one transaction: Kysely does not do so on SQLite, and foreign keys must rest meanwhile. */
async function migrate(raw: Database.Database, db: Kysely<Schema>): Promise<void> {
  raw.pragma('foreign_keys = OFF')
  raw.exec('begin immediate')
  try {
    const { error } = await new Migrator({ db, provider: { getMigrations: async () => migrations } }).migrateToLatest()
    if (error) throw error
    const broken = raw.pragma('foreign_key_check') as unknown[]
    if (broken.length > 0) throw new TarelineError('migration-failed', `The update of the database left ${broken.length} broken references and was undone.`)
    raw.pragma(`application_id = ${applicationId}`)
    raw.pragma(`user_version = ${latestStep}`)
    raw.exec('commit')
  } catch (error) {
    raw.exec('rollback')
    throw error
  } finally {
    raw.pragma('foreign_keys = ON')
  }
}

/**
 * Opens a fleet database, making it where there is none, and brings it to the newest step; a copy of the file is kept
 * before that. A file that is damaged, newer, or not ours is refused and not changed.
 *
 * Errors: TarelineError `not-a-database`, `damaged`, `newer`, `locked`, `read-only`, `disk-full`, `missing`, `cannot-open`.
 */
export async function openStore(name: string, options: { readonly mustExist?: boolean } = {}): Promise<Store> {
  const file = resolve(name)
  const present = existsSync(file) && statSync(file).size > 0
  if (options.mustExist === true && !present) throw new TarelineError('missing', `${file} does not exist. Check the name, or import a fleet folder to make it.`)
  let raw: Database.Database | undefined
  try {
    if (present) {
      // A look first, so that a foreign file is never touched, not even its journal.
      const look = openToLook(file)
      try {
        inspect(look, file)
        checkWhole(look, file)
      } finally {
        look.close()
      }
    }
    raw = new Database(file, { timeout: 5000 })
    raw.pragma('journal_mode = WAL')
    raw.pragma('synchronous = FULL')
    raw.pragma('foreign_keys = ON')
    raw.pragma('cache_size = -65536')
    const handle = raw
    const db = new Kysely<Schema>({ dialect: new SqliteDialect({ database: handle }) })
    const step = inspect(handle, file)
    if (step < latestStep) {
      if (step > 0) keepCopy(handle, file, 'before-update')
      await migrate(handle, db)
    }
    const close = async () => {
      await db.destroy()
      // Kysely closes only what it has used.
      handle.close()
    }
    return { file, db, raw: handle, close }
  } catch (error) {
    raw?.close()
    throw openingError(error, file)
  }
}
