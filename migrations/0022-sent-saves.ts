import { type Kysely, sql } from 'kysely'
import { sealTable } from './seal-table.ts'

/**
 * Saves that came from a queue, such as a phone's that had lost the house: by the id that was made there. Each is
 * written in one transaction with what it saved, so that the same save sent again is told what the first was told.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('sent_save')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('sent_id', 'text', (c) => c.notNull().unique())
    .addColumn('saved_at', 'text', (c) => c.notNull())
    // Of all that was sent, so that an id is not taken for another save.
    .addColumn('digest', 'text', (c) => c.notNull())
    .addColumn('answer', 'text', (c) => c.notNull().check(sql`json_valid(answer)`))
    .modifyEnd(sql`strict`)
    .execute()
  await sealTable(db, 'sent_save')
}
