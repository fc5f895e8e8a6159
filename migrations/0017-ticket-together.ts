import { type Kysely, sql } from 'kysely'

/**
 * One weight of two groups of a unit that stood on one platform, as a tag and its tandem do: neither has a weight of
 * its own on that ticket. The unit keeps its row without a group in ticket_weight, so that whatever knows nothing of
 * sums sees a unit that stood on the scale with groups that were not weighed. All groups are judged anew, since what
 * is kept of the weighings that teach most tells by now whether each is worth its trip.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('ticket_together')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('ticket_id', 'integer', (c) => c.notNull().references('ticket.id'))
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('first_group_id', 'integer', (c) => c.notNull().references('axle_group.id'))
    .addColumn('second_group_id', 'integer', (c) => c.notNull().references('axle_group.id'))
    .addColumn('weight_lb', 'real', (c) => c.notNull().check(sql`weight_lb between 0 and 400000`))
    .addCheckConstraint('two_groups_in_one_order', sql`first_group_id < second_group_id`)
    .addUniqueConstraint('one_weight_of_two_groups', ['ticket_id', 'first_group_id', 'second_group_id'])
    .modifyEnd(sql`strict`)
    .execute()
  await db.schema.createIndex('ticket_together_by_unit').on('ticket_together').column('unit_id').execute()
  await sql`insert into behind_fleet (what, since) select 'judge', revision from ledger where true
    on conflict (what) do update set since = excluded.since`.execute(db)
}
