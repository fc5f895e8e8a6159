import { type Kysely, sql } from 'kysely'

/** What undoing and finding a change needs, and what a window leaves on the desk until it is saved. */
export async function up(db: Kysely<unknown>): Promise<void> {
  // The changes of one save share the revision that they made. Null in rows from before this step: those cannot be
  // undone.
  await db.schema.alterTable('change_log').addColumn('revision', 'integer').execute()
  // Id of the changed row in the table of its subject; null where the subject has no row of its own.
  await db.schema.alterTable('change_log').addColumn('record_id', 'integer').execute()
  // The revision that this change took back.
  await db.schema.alterTable('change_log').addColumn('undoes', 'integer').execute()
  await db.schema.createIndex('change_log_by_revision').on('change_log').column('revision').execute()
  await db.schema.createIndex('change_log_by_record').on('change_log').columns(['subject', 'record_id']).execute()

  // Typed and not yet saved, by the name of its form: no part of the record, and no change of it.
  await db.schema
    .createTable('desk')
    .addColumn('name', 'text', (c) => c.primaryKey().check(sql`length(name) between 1 and 300`))
    .addColumn('text', 'text', (c) => c.notNull())
    .addColumn('left_at', 'text', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
}
