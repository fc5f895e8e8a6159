import { type Kysely, sql } from 'kysely'

/**
 * Derived tables: what the readings and tickets weigh against their limits. They may be emptied at any time and are
 * made anew.
 *
 * A weighing is one look at a combination: a ticket with the readings that belong to it, or a reading without a ticket.
 * Its number is twice the ticket's id and one more, or twice the reading's id.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  const strict = sql`strict`
  const verdict = (column: string) => sql`${sql.ref(column)} in (0, 1, 2)`

  // One row a unit of a weighing, of a combination the one at its head leads. The verdicts are the worst about its
  // groups, gross, and the bridge sets it has axles in; for the one that leads about everything: 0 under, 1 too close
  // to call, 2 over, null where nothing of the kind was weighed.
  await db.schema
    .createTable('weighed_unit')
    .addColumn('weighing', 'integer', (c) => c.notNull())
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('weighed_on', 'text', (c) => c.notNull())
    .addColumn('leads', 'integer', (c) => c.notNull().check(sql`leads in (0, 1)`))
    .addColumn('group_verdict', 'integer', (c) => c.check(verdict('group_verdict')))
    .addColumn('gross_verdict', 'integer', (c) => c.check(verdict('gross_verdict')))
    .addColumn('bridge_verdict', 'integer', (c) => c.check(verdict('bridge_verdict')))
    .addPrimaryKeyConstraint('one_row_a_unit_of_a_weighing', ['weighing', 'unit_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema
    .createIndex('weighed_unit_by_unit')
    .on('weighed_unit')
    .columns(['unit_id', 'weighed_on', 'leads', 'group_verdict', 'gross_verdict', 'bridge_verdict'])
    .execute()
  await db.schema
    .createIndex('weighed_unit_by_day')
    .on('weighed_unit')
    .columns(['leads', 'weighed_on', 'unit_id', 'group_verdict', 'gross_verdict', 'bridge_verdict'])
    .execute()

  // Every weight that is over a limit or too close to call.
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
    .addColumn('verdict', 'text', (c) => c.notNull().check(sql`verdict in ('too close to call', 'over')`))
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('heavy_by_weighing').on('heavy').column('weighing').execute()
  await db.schema.createIndex('heavy_by_unit').on('heavy').columns(['unit_id', 'weighed_at']).execute()
  // Pages are walked along the first and counts along the second, neither of which then looks a row up.
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

  // What the weights of a unit follow from, so that a change finds the units that it touches.
  await db.schema
    .createTable('weighed_basis')
    .addColumn('unit_id', 'integer', (c) => c.primaryKey().references('unit.id'))
    .addColumn('basis', 'text', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()

  // One row: the rules and the fleet's figures behind all weights, and how far the record has been weighed.
  await db.schema
    .createTable('weighing_state')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('revision', 'integer', (c) => c.notNull())
    .addColumn('last_reading_id', 'integer', (c) => c.notNull())
    .addColumn('last_ticket_id', 'integer', (c) => c.notNull())
    .addColumn('rules', 'text', (c) => c.notNull())
    .addColumn('leveling_psi', 'real', (c) => c.notNull())
    .addColumn('wander_psi', 'real', (c) => c.notNull())
    .addColumn('steer_scatter_lb', 'real', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()
}
