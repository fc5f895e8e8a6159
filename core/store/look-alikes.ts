import type Database from 'better-sqlite3'
import { sql } from 'kysely'
import type { Stored } from '#core/store/kept-table.ts'
import type { Reader } from '#core/store/open.ts'
import type { StoredValues } from '#core/words/change.ts'
import { nameKey, tidyName } from '#core/words/names.ts'

/** Names that hold more than the plain keyboard's signs: only those look like another. */
const oddName = '*[^ -~]*'

export interface NamedTable {
  readonly table: string
  /** Columns within which the name is a key. */
  readonly scope: readonly string[]
  readonly name: string
}

/**
 * The stored name that looks like another one and is not it; undefined where there is none. scope: a record's values,
 * the columns of the table's scope among them.
 */
export async function findLookAlike(
  db: Reader,
  { table, scope: columns, name: column }: NamedTable,
  scope: StoredValues,
  name: string,
): Promise<string | undefined> {
  const key = nameKey(name)
  const named = sql.ref<string>(column)
  // The columns follow from the table at run time only, so it is taken for one of them towards Kysely.
  let query = db
    .selectFrom(table as 'unit')
    .select(named.as('stored'))
    .where(sql<boolean>`(${named} = ${key} or ${named} glob ${oddName})`)
  for (const each of columns) query = query.where(sql.ref(each), '=', scope[each] ?? null)
  const rows = await query.execute()
  return rows.map(({ stored }) => stored).find((stored) => stored !== name && nameKey(stored) === key)
}

/** A name that was taken for another one that is stored and looks the same. */
export interface TakenFor {
  readonly name: string
  readonly stored: string
}

/**
 * Says under which spelling a name is stored, for an import: its own where that is there, else that of one that looks
 * the same, else its own, tidied. The name stands last in the key.
 */
export function storedSpelling(raw: Database.Database, named: NamedTable, note: (taken: TakenFor) => void) {
  const placeOf = (scope: readonly Stored[], name: string) => JSON.stringify([...scope, nameKey(name)])
  const odd = new Map<string, string>()
  const all = raw
    .prepare(`select ${[...named.scope, named.name].join(', ')} from ${named.table} where ${named.name} glob ?`)
    .raw()
    .all(oddName) as Stored[][]
  for (const row of all) odd.set(placeOf(row.slice(0, -1), String(row.at(-1))), String(row.at(-1)))
  const exists = raw
    .prepare(
      `select exists (select 1 from ${named.table} where ${[...named.scope, named.name].map((column) => `${column} = ?`).join(' and ')})`,
    )
    .pluck()
  const isStored = (scope: readonly Stored[], name: string) => exists.get(...scope, name) === 1

  /** keeping: the name will be stored where none like it is. */
  return (key: readonly Stored[], keeping: boolean): readonly Stored[] => {
    const name = String(key.at(-1))
    const folded = nameKey(name)
    if (folded === name && odd.size === 0) return key
    const scope = key.slice(0, -1)
    const place = placeOf(scope, name)
    const alike = odd.get(place)
    if (alike === name || (folded === name && alike === undefined) || isStored(scope, name)) return key
    const stored = alike ?? (folded !== name && isStored(scope, folded) ? folded : undefined)
    if (stored === undefined) {
      const tidy = tidyName(name)
      if (keeping) odd.set(place, tidy)
      return [...scope, tidy]
    }
    if (tidyName(stored) !== tidyName(name)) note({ name, stored })
    return [...scope, stored]
  }
}
