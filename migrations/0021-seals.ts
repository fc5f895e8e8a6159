import { type Kysely, sql } from 'kysely'
import { sealTable, sealsMade } from './seal-table.ts'

/** Tables that follow from the record, and those that hold no part of it. */
const notOfTheRecord = [
  'finding',
  'group_standing',
  'heavy',
  'weighed_unit',
  'judged_with',
  'renewed_unit',
  'standing_before',
  'fleet_figures',
  'books',
  'behind_fleet',
  'behind_unit',
  'behind_weighing',
  'desk',
  'folded',
  'seal',
  'unsealed',
]

/**
 * A seal for each stretch of rows: a digest by which a row that changed without anybody writing it is found out. What
 * is written marks its stretch as unsealed, and is sealed a moment later (core/store/seals.ts).
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('seal')
    .addColumn('table_name', 'text', (c) => c.notNull())
    .addColumn('stretch', 'integer', (c) => c.notNull())
    .addColumn('digest', 'text', (c) => c.notNull())
    .addPrimaryKeyConstraint('one_seal_of_a_stretch', ['table_name', 'stretch'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema
    .createTable('unsealed')
    .addColumn('table_name', 'text', (c) => c.notNull())
    .addColumn('stretch', 'integer', (c) => c.notNull())
    .addPrimaryKeyConstraint('one_mark_of_a_stretch', ['table_name', 'stretch'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  // One row, on a page of its own that is written only as the write-ahead log is moved into the file: whoever reads it
  // reads the file itself, and sees an older one that was laid under the log by its lower count.
  await db.schema
    .createTable('folded')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('times', 'integer', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  await sql`insert into folded (id, times) values (1, 0)`.execute(db)
  const { rows } = await sql<{ name: string }>`select name from sqlite_schema where type = 'table'
    and name not like 'sqlite\_%' escape '\\' and name not like 'kysely\_%' escape '\\' order by name`.execute(db)
  for (const { name } of rows) if (!notOfTheRecord.includes(name)) await sealTable(db, name)
  for (const table of ['behind_fleet', 'behind_unit', 'behind_weighing', 'books', 'fleet_figures'])
    await sealsMade(db, table)
}
