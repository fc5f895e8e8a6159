import { type Store, readyStatements } from '#core/store/open.ts'

/** Keeps no statement ready, so that each is prepared whenever it is asked. */
class NoneReady extends Map<string, never> {
  override set(): this {
    return this
  }
}

/** Every question that the work prepares on the store, as SQL. */
export async function statementsOf({ raw }: Store, work: () => unknown): Promise<string[]> {
  const seen: string[] = []
  const prepare = raw.prepare.bind(raw)
  const ready = readyStatements.get(raw)
  readyStatements.set(raw, new NoneReady())
  raw.prepare = ((sql: string) => {
    seen.push(sql)
    return prepare(sql)
  }) as typeof raw.prepare
  try {
    await work()
  } finally {
    raw.prepare = prepare as typeof raw.prepare
    if (ready) readyStatements.set(raw, ready)
  }
  return seen.filter((sql) => sql.startsWith('select') || sql.startsWith('with'))
}

/** The tables that a statement reads from end to end, under their own names. */
export const scannedTables = (store: Store, sql: string): string[] => walked(store, sql, /^SCAN (\w+)/)

/** Those of them that it reads as they lie, along no index. */
export const unindexedScans = (store: Store, sql: string): string[] => walked(store, sql, /^SCAN (\w+)(?! USING)\b/)

/** The steps that SQLite would take for a statement. */
export function plansOf({ raw }: Store, sql: string): string[] {
  const unbound = new Array<null>(sql.split('?').length - 1).fill(null)
  return (raw.prepare(`explain query plan ${sql}`).all(...unbound) as { detail: string }[]).map(({ detail }) => detail)
}

function walked(store: Store, sql: string, how: RegExp): string[] {
  const names = new Map([...sql.matchAll(/"(\w+)" as "(\w+)"/g)].map(([, table, alias]) => [alias, table]))
  return plansOf(store, sql).flatMap((detail) => {
    const table = how.exec(detail)?.[1]
    return table === undefined ? [] : [names.get(table) ?? table]
  })
}
