import { type Kysely, sql } from 'kysely'

/**
 * Days on which a unit comes in anyway, typed or from a file: the bench plan uses them first. A day has no hour: local
 * to the yard.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('planned_visit')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    // Null: the unit's own yard.
    .addColumn('yard_id', 'integer', (c) => c.references('yard.id'))
    .addColumn('visit_on', 'text', (c) =>
      c.notNull().check(sql`visit_on glob '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'`),
    )
    .addUniqueConstraint('one_planned_visit_a_day', ['unit_id', 'visit_on'])
    .modifyEnd(sql`strict`)
    .execute()
  await db.schema.createIndex('planned_visit_by_day').on('planned_visit').column('visit_on').execute()
}
