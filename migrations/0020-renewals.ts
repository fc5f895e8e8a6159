import { type Kysely, sql } from 'kysely'

/**
 * What a window is told: which units were judged anew, and when. Each storing of judgements counts one renewal, and its
 * units carry its number, those of a whole fleet where it changed what the Roster shows; so a window that knows a
 * number asks for those after it.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .alterTable('books')
    .addColumn('renewals', 'integer', (c) => c.notNull().defaultTo(0))
    .execute()
  // The renewal with which the fleet as a whole was last judged.
  await db.schema
    .alterTable('books')
    .addColumn('whole_renewal', 'integer', (c) => c.notNull().defaultTo(0))
    .execute()
  // Also of units that were taken away since, so without a reference.
  await db.schema
    .createTable('renewed_unit')
    .addColumn('unit_id', 'integer', (c) => c.primaryKey())
    .addColumn('renewal', 'integer', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  await db.schema.createIndex('renewed_unit_by_renewal').on('renewed_unit').column('renewal').execute()
}
