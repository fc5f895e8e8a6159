import { existsSync, linkSync, rmSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import Database from 'better-sqlite3'
import { TarelineError } from '#core/fleet/problem.ts'
import type { Store } from '#core/store/open.ts'

export interface Backup {
  readonly file: string
  readonly tables: number
  readonly rows: number
}

const pagesPerStep = 2000

function countRows(raw: Database.Database): Map<string, number> {
  const tables = raw.prepare("select name from sqlite_schema where type = 'table' and name not like 'sqlite_%' order by name").pluck().all() as string[]
  return new Map(tables.map((table) => [table, raw.prepare(`select count(*) from "${table}"`).pluck().get() as number]))
}

function verify(copy: string, expected: ReadonlyMap<string, number>): void {
  const raw = new Database(copy)
  try {
    const complaint = raw.pragma('integrity_check(1)', { simple: true })
    if (complaint !== 'ok') throw new TarelineError('backup-failed', `The copy came out damaged (${String(complaint)}) and was removed. Try another disk.`)
    const found = countRows(raw)
    for (const [table, rows] of expected) {
      if (found.get(table) !== rows) throw new TarelineError('backup-failed', `The copy has ${found.get(table) ?? 0} rows in ${table} where the file has ${rows}, and was removed. Try again.`)
    }
  } finally {
    raw.close()
  }
}

/**
 * Copies the open file to `name` as it stands at this moment, whatever is written meanwhile; the copy is checked, row counts
 * and all, before it gets its name, and never takes the place of another file.
 *
 * Errors: TarelineError `file-exists`, `no-folder`, `backup-failed`.
 */
export async function backupStore({ raw, file }: Store, name: string): Promise<Backup> {
  const to = resolve(name)
  const exists = () => new TarelineError('file-exists', `${to} exists already. Name a new file for the copy of ${file}.`)
  if (existsSync(to)) throw exists()
  if (!existsSync(dirname(to))) throw new TarelineError('no-folder', `${dirname(to)} does not exist. Name a folder that does.`)
  const unfinished = join(dirname(to), `.${process.pid}-${Date.now()}.unfinished`)
  // A read transaction holds the moment: what others write during the copy is not in it.
  raw.exec('begin')
  try {
    const rows = countRows(raw)
    await raw.backup(unfinished, { progress: () => pagesPerStep })
    verify(unfinished, rows)
    linkSync(unfinished, to)
    return { file: to, tables: rows.size, rows: [...rows.values()].reduce((sum, count) => sum + count, 0) }
  } catch (error) {
    if (error instanceof TarelineError) throw error
    if (error instanceof Error && 'code' in error && error.code === 'EEXIST') throw exists()
    throw new TarelineError('backup-failed', `The copy ${to} could not be made: ${error instanceof Error ? error.message : String(error)}.`, { cause: error })
  } finally {
    raw.exec('rollback')
    for (const end of ['', '-wal', '-shm', '-journal']) rmSync(unfinished + end, { force: true })
  }
}
