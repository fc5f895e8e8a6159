import { type Kysely, sql } from 'kysely'

/**
 * Stored weights are the best ones, by all evidence, with what the line in use reads beside them. One that is heavy by
 * its line alone is kept too, its best verdict `under`. The table is derived and made anew, and so are the fleet's
 * figures, since older ones lack the noise that lines are followed with.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  const verdict = (column: string) => sql`${sql.ref(column)} in ('under', 'too close to call', 'over')`
  await db.schema.dropTable('heavy').execute()
  // Every weight that is over a limit or too close to call, by all evidence or by what the lines read.
  await db.schema
    .createTable('heavy')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('weighing', 'integer', (c) => c.notNull())
    .addColumn('source', 'text', (c) => c.notNull().check(sql`source in ('ticket', 'onboard')`))
    // The ticket of the same weighing decides about an onboard weight of the same thing.
    .addColumn('superseded', 'integer', (c) => c.notNull().check(sql`superseded in (0, 1)`))
    .addColumn('reading_id', 'integer', (c) => c.references('reading.id'))
    .addColumn('ticket_id', 'integer', (c) => c.references('ticket.id'))
    .addColumn('weighed_at', 'text', (c) => c.notNull())
    // Whose limit it is: the group's unit, or the one at the head of the combination.
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('lead_unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('limit_kind', 'text', (c) => c.notNull().check(sql`limit_kind in ('group', 'gross', 'bridge')`))
    .addColumn('group_id', 'integer', (c) => c.references('axle_group.id'))
    // Of a bridge set: its axles counted from the front, its length, and how many more sets are as bad.
    .addColumn('first_axle', 'integer')
    .addColumn('last_axle', 'integer')
    .addColumn('length_ft', 'real')
    .addColumn('more_sets', 'integer')
    .addColumn('weight_lb', 'real', (c) => c.notNull())
    .addColumn('u_lb', 'real', (c) => c.notNull())
    .addColumn('limit_lb', 'real', (c) => c.notNull())
    .addColumn('over_lb', 'real', (c) => c.notNull())
    .addColumn('p_over', 'real', (c) => c.notNull())
    .addColumn('verdict', 'text', (c) => c.notNull().check(verdict('verdict')))
    // What the lines in use read; null for a ticket, and where a group has no line.
    .addColumn('line_weight_lb', 'real')
    .addColumn('line_u_lb', 'real')
    .addColumn('line_verdict', 'text', (c) => c.check(verdict('line_verdict')))
    // A group without a line since recorded work has a part in it.
    .addColumn('provisional', 'integer', (c) => c.notNull().check(sql`provisional in (0, 1)`))
    .modifyEnd(sql`strict`)
    .execute()
  await db.schema.createIndex('heavy_by_weighing').on('heavy').column('weighing').execute()
  await db.schema.createIndex('heavy_by_unit').on('heavy').columns(['unit_id', 'weighed_at']).execute()
  await db.schema
    .createIndex('heavy_by_time')
    .on('heavy')
    .columns(['superseded', 'weighed_at', 'verdict', 'limit_kind', 'lead_unit_id'])
    .execute()
  await db.schema
    .createIndex('heavy_counted')
    .on('heavy')
    .columns(['superseded', 'lead_unit_id', 'unit_id', 'limit_kind', 'group_id', 'verdict', 'over_lb', 'weighed_at'])
    .execute()
  await sql`delete from weighed_unit`.execute(db)
  await sql`delete from fleet_figures`.execute(db)
  await sql`update books set weighed_revision = -1`.execute(db)
  await sql`insert into behind_fleet (what, since)
    select w.what, l.revision from ledger l
      join (select 'learn' as what union select 'judge' union select 'weigh') w
      where true
    on conflict (what) do update set since = excluded.since`.execute(db)
}
