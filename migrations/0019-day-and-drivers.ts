import { type Kysely, sql } from 'kysely'

/**
 * The trust of each group when it was last judged for an earlier day, so that a morning can tell what has changed; and
 * who drove, where the record says so. Trust of days before this step is known to nobody, so the table begins empty.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('standing_before')
    .addColumn('group_id', 'integer', (c) => c.primaryKey().references('axle_group.id').onDelete('cascade'))
    // The end of the day that it was judged for, UTC.
    .addColumn('judged_for', 'text', (c) => c.notNull())
    .addColumn('trust', 'text', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  // What was recorded since yesterday is found without reading the whole log.
  await db.schema.createIndex('change_log_by_time').on('change_log').column('changed_at').execute()
  await db.schema.alterTable('ticket').addColumn('driver', 'text').execute()
  await db.schema.alterTable('reading').addColumn('driver', 'text').execute()
}
