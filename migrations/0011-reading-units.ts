import { type Kysely, sql } from 'kysely'

/**
 * Units that stood in the combination of a reading without a pressure of their own: a trailer without sensors weighs
 * all the same. The others are named by the reading's pressures and by its ticket, so that readings of before need no
 * row.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('reading_unit')
    .addColumn('reading_id', 'integer', (c) => c.notNull().references('reading.id').onDelete('cascade'))
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addPrimaryKeyConstraint('a_unit_stands_once_in_a_reading', ['reading_id', 'unit_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema.createIndex('reading_unit_by_unit').on('reading_unit').column('unit_id').execute()
}
