import { existsSync } from 'node:fs'
import Database from 'better-sqlite3'

/**
 * A connection for a look that changes nothing. It is read-only where a log lies beside the file, which must stay for its
 * owner; else it may write and does not, since only then SQLite takes its own side files away again.
 */
export function openToLook(file: string): Database.Database {
  const raw = new Database(file, { readonly: existsSync(`${file}-wal`) || existsSync(`${file}-journal`), fileMustExist: true, timeout: 5000 })
  raw.pragma('query_only = ON')
  return raw
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
