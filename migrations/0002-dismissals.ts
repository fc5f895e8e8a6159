import { type Kysely, sql } from 'kysely'

/**
 * Findings that a person has set aside with a reason. One stays aside while it rests on the same evidence; new evidence
 * brings it back. Append-only: the reason and the name remain for whoever asks later.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('dismissal')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('finding_key', 'text', (c) => c.notNull().check(sql`length(finding_key) > 0`))
    .addColumn('evidence', 'text', (c) => c.notNull())
    .addColumn('reason', 'text', (c) => c.notNull().check(sql`length(trim(reason)) > 0`))
    .addColumn('dismissed_by', 'text', (c) => c.notNull().check(sql`length(trim(dismissed_by)) > 0`))
    .addColumn('dismissed_at', 'text', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  await db.schema.createIndex('dismissal_by_key').on('dismissal').columns(['finding_key', 'evidence']).execute()
  await sql`create trigger dismissal_is_append_only before update on dismissal
    begin select raise(abort, 'a dismissal is never edited'); end`.execute(db)
  await sql`create trigger dismissal_is_kept before delete on dismissal
    begin select raise(abort, 'a dismissal is never deleted'); end`.execute(db)
  // What a stored finding rests on, so that it can be told whether a dismissal still covers it.
  await sql`alter table finding add column evidence text not null default ''`.execute(db)
}
