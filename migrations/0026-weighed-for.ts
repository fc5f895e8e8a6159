import type { Kysely } from 'kysely'

/**
 * Weights are of a day as judgements are: the moment up to which evidence counted in them. Those of older versions
 * counted all that was on record, however far ahead it was dated.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .alterTable('books')
    .addColumn('weighed_for', 'text', (c) => c.notNull().defaultTo('2200-01-01T00:00:00.000Z'))
    .execute()
}
