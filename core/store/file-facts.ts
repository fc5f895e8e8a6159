import type Database from 'better-sqlite3'
import { statSync } from 'node:fs'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { codeOf } from '#core/words/problem.ts'

/** What a fleet file holds, for a person who must tell one from another; null: this file, or its step, does not say. */
export interface FileFacts {
  readonly bytes: number
  readonly units: number | null
  readonly tickets: number | null
  readonly readings: number | null
  readonly calibrations: number | null
  readonly attachments: number | null
  /** Stored instants of the last change that was taken down, and of the newest weighing. */
  readonly lastChangeAt: string | null
  readonly newestWeighingAt: string | null
}

/** Asks one question of a file that may be damaged or of an old step: what it cannot answer is not known. */
function ask<T>(raw: Database.Database, sql: string): T | null {
  try {
    return (raw.prepare(sql).pluck().get() as T | undefined) ?? null
  } catch (error) {
    const isMissingTable = codeOf(error) === 'SQLITE_ERROR'
    if (isMissingTable || faultOf(error) === 'damaged') return null
    throw error
  }
}

export function readFileFacts(raw: Database.Database, file: string): FileFacts {
  const count = (sql: string) => ask<number>(raw, `select count(*) from ${sql}`)
  return {
    bytes: statSync(file).size + (statSync(`${file}-wal`, { throwIfNoEntry: false })?.size ?? 0),
    units: count('unit'),
    tickets: count('ticket'),
    readings: count('reading'),
    calibrations: count('calibration where voided_at is null'),
    attachments: count('attachment'),
    lastChangeAt: ask<string>(raw, 'select max(changed_at) from change_log'),
    newestWeighingAt: ask<string>(
      raw,
      'select max(at) from (select max(taken_at) as at from reading union all select max(weighed_at) from ticket)',
    ),
  }
}

/**
 * Names the state of the record: another text after any change that was taken down, also after one that a restore has
 * undone.
 */
export function recordMark(raw: Database.Database): string {
  return JSON.stringify(
    raw
      .prepare(
        'select revision, (select count(*) from change_log) as changes, ' +
          '(select max(changed_at) from change_log) as at from ledger',
      )
      .get() ?? null,
  )
}
