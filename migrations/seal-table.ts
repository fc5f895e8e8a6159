import { type Kysely, sql } from 'kysely'

/** What `pragma_table_info` tells of a column; pk: its place in the primary key from 1, or 0. */
export interface SealColumn {
  readonly name: string
  readonly type: string
  readonly pk: number
}

/**
 * The stretches in which the rows of a table are sealed: the whole part of a number column shifted by some bits. Null:
 * all rows in one stretch, as a table without a number for a key has few.
 */
export function stretchesOf(columns: readonly SealColumn[]): { readonly column: string; readonly bits: number } | null {
  const first = columns.find(({ pk }) => pk === 1)
  if (first?.type.toLowerCase() !== 'integer') return null
  // A unit's own number comes once in few rows of its table, and in many of a table that only begins with it.
  return { column: first.name, bits: first.name === 'unit_id' ? 0 : 9 }
}

/** SQL for the stretch of a row, `new` or `old`. */
const stretchIn = (row: 'new' | 'old', columns: readonly SealColumn[]): string => {
  const stretches = stretchesOf(columns)
  return stretches ? `${row}."${stretches.column}" >> ${stretches.bits}` : '0'
}

const tableName = /^[a-z_]+$/

async function breakOn(
  db: Kysely<unknown>,
  table: string,
  values: (row: 'new' | 'old') => string,
  prefix: string,
): Promise<void> {
  if (!tableName.test(table)) throw new RangeError(`${table} is no table name`)
  const mark = (row: 'new' | 'old') => `insert into unsealed values (${values(row)}) on conflict do nothing;`
  for (const [word, event, marks] of [
    ['added', 'insert', mark('new')],
    ['changed', 'update', `${mark('old')} ${mark('new')}`],
    ['gone', 'delete', mark('old')],
  ])
    await sql.raw(`create trigger ${prefix}_${table}_${word} after ${event} on ${table} begin ${marks} end`).execute(db)
}

/**
 * Has every later change of a table's rows marked, by triggers, so that the seal of their stretch is known to be broken
 * on purpose. Every step that makes a table of the record, or makes one anew, calls it for that table.
 */
export async function sealTable(db: Kysely<unknown>, table: string): Promise<void> {
  const { rows } = await sql<SealColumn>`select name, type, pk from pragma_table_info(${table})`.execute(db)
  await breakOn(db, table, (row) => `'${table}', ${stretchIn(row, rows)}`, 'unseal')
}

/** The same for the tables whose changes go with new judgements or weights: these are sealed as a whole. */
export const sealsMade = (db: Kysely<unknown>, table: string): Promise<void> =>
  breakOn(db, table, () => `'made', 0`, 'unseal_made_by')
