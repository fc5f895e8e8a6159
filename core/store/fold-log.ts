import type Database from 'better-sqlite3'
import { faultOf } from '#core/store/sqlite-fault.ts'

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
