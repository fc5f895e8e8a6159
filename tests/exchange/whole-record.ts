import { basename } from 'node:path'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { ImportOptions } from '#core/exchange/import-records.ts'
import type { Store } from '#core/store/open.ts'
import { broughtOnDesk } from '#core/words/desk.ts'
import { withFleetFolder } from '#tests/exchange/small-fleet.ts'

/** Every row of every table of the record, as the file holds them; not seals, notes and what lists are read from. */
export function wholeRecord({ raw }: Store): Record<string, unknown[]> {
  const tables = raw
    .prepare(
      "select name from sqlite_schema where type = 'table' and name not like 'sqlite_%' and " +
        "name not in ('desk', 'seal', 'unsealed', 'folded', 'roster_line', 'roster_behind', 'sensor_words') " +
        'order by name',
    )
    .pluck()
    .all() as string[]
  return Object.fromEntries(tables.map((table) => [table, raw.prepare(`select * from "${table}" order by 1, 2`).all()]))
}

/** Brings files in row by row, also those that came before, byte for byte (brought-files.test.ts is about these). */
export function bring(
  store: Store,
  files: Readonly<Record<string, string | Uint8Array>>,
  options?: ImportOptions,
): Promise<ImportOutcome> {
  store.raw.prepare('delete from desk where name = ?').run(broughtOnDesk)
  return withFleetFolder(files, (folder) => importFolder(store, folder, options))
}

/** Brings files in that must be accepted; answers with the counts by file. */
export async function bringWell(store: Store, files: Readonly<Record<string, string | Uint8Array>>) {
  const outcome = await bring(store, files)
  if (outcome.outcome === 'refused') throw new Error(outcome.problems.map(({ message }) => message).join('\n'))
  return {
    notes: outcome.notes,
    counts: Object.fromEntries(outcome.files.map(({ file, ...counts }) => [basename(file, '.csv'), counts])),
  }
}

/** Brings files in that must be refused; answers with the problems. */
export async function bringBadly(store: Store, files: Readonly<Record<string, string | Uint8Array>>) {
  const outcome = await bring(store, files)
  if (outcome.outcome === 'stored') throw new Error('the folder was taken')
  return outcome
}
