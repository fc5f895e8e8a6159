import { type Kysely, sql } from 'kysely'

/**
 * The log outlives what it tells of, so that an addition can be undone: its unit is no longer a reference. And the zone
 * in which a person typed a local time, as tickets and readings have it; null where a file told the time.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('change_log_kept')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('changed_at', 'text', (c) =>
      c
        .notNull()
        .check(
          sql`changed_at glob '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9].[0-9][0-9][0-9]Z'`,
        ),
    )
    .addColumn('changed_by', 'text', (c) => c.notNull())
    .addColumn('unit_id', 'integer')
    .addColumn('subject', 'text', (c) => c.notNull())
    .addColumn('subject_key', 'text', (c) => c.notNull())
    .addColumn('action', 'text', (c) => c.notNull())
    .addColumn('old_value', 'text', (c) => c.check(sql`old_value is null or json_valid(old_value)`))
    .addColumn('new_value', 'text', (c) => c.check(sql`new_value is null or json_valid(new_value)`))
    .addColumn('reason', 'text')
    .addColumn('revision', 'integer')
    .addColumn('record_id', 'integer')
    .addColumn('undoes', 'integer')
    .modifyEnd(sql`strict`)
    .execute()
  const columns = sql.raw(
    'id, changed_at, changed_by, unit_id, subject, subject_key, action, old_value, new_value, reason, revision, record_id, undoes',
  )
  await sql`insert into change_log_kept (${columns}) select ${columns} from change_log`.execute(db)
  // Dropping the table takes its indexes and triggers with it.
  await sql`drop table change_log`.execute(db)
  await sql`alter table change_log_kept rename to change_log`.execute(db)
  await db.schema.createIndex('change_log_by_unit').on('change_log').columns(['unit_id', 'changed_at']).execute()
  await db.schema.createIndex('change_log_by_revision').on('change_log').column('revision').execute()
  await db.schema.createIndex('change_log_by_record').on('change_log').columns(['subject', 'record_id']).execute()
  await sql`create index change_log_undone on change_log (undoes) where undoes is not null`.execute(db)
  await sql`create trigger change_log_is_append_only before update on change_log
    begin select raise(abort, 'the change log is never edited'); end`.execute(db)
  await sql`create trigger change_log_is_kept before delete on change_log
    begin select raise(abort, 'the change log is never deleted'); end`.execute(db)

  await db.schema.alterTable('event').addColumn('local_zone', 'text').execute()
  await db.schema.alterTable('mount').addColumn('local_zone', 'text').execute()
}
