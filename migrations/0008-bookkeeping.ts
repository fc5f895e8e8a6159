import { type Kysely, sql } from 'kysely'

/**
 * What follows from a change, kept in one place: the units of a change beside the log, and what is behind the record
 * until it is judged and weighed again. Judgements and weights are derived: those of the step before go, and the first
 * look makes them anew.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  const strict = sql`strict`

  // The units whose record a change is part of, however many: a ticket is part of its tractor's and its trailer's. Also
  // of units that were taken away since, so without a reference.
  await db.schema
    .createTable('change_unit')
    .addColumn('unit_id', 'integer', (c) => c.notNull())
    .addColumn('change_id', 'integer', (c) => c.notNull().references('change_log.id'))
    .addPrimaryKeyConstraint('one_row_a_unit_of_a_change', ['unit_id', 'change_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema.createIndex('change_unit_by_change').on('change_unit').column('change_id').execute()
  await sql`insert into change_unit (unit_id, change_id)
    select unit_id, id from change_log where unit_id is not null
    union select w.unit_id, c.id from change_log c join ticket_weight w on w.ticket_id = c.record_id
      where c.subject = 'ticket'
    union select g.unit_id, c.id from change_log c
      join reading_pressure p on p.reading_id = c.record_id
      join circuit k on k.id = p.circuit_id join axle_group g on g.id = k.group_id
      where c.subject = 'reading'`.execute(db)

  // Up to which revision something changed that lines, weights, cells or only words follow from: what was made at that
  // revision or later is current.
  for (const kind of ['lines', 'weights', 'cells', 'words'])
    await db.schema
      .alterTable('ledger')
      .addColumn(`${kind}_revision`, 'integer', (c) => c.notNull().defaultTo(0))
      .execute()

  // Units whose judgement or weights are behind the record, with the revision of the newest change behind it.
  await db.schema
    .createTable('behind_unit')
    .addColumn('unit_id', 'integer', (c) => c.primaryKey())
    .addColumn('judge_since', 'integer')
    .addColumn('weigh_since', 'integer')
    .modifyEnd(strict)
    .execute()
  // Single weighings that are behind, such as a new reading's: the weights of its units' other readings stay.
  await db.schema
    .createTable('behind_weighing')
    .addColumn('weighing', 'integer', (c) => c.primaryKey())
    .addColumn('since', 'integer', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()
  // What the whole fleet is behind in.
  await db.schema
    .createTable('behind_fleet')
    .addColumn('what', 'text', (c) => c.primaryKey().check(sql`what in ('learn', 'judge', 'weigh')`))
    .addColumn('since', 'integer', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()

  // One row: what the whole fleet taught, and when.
  await db.schema
    .createTable('fleet_figures')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('learnt_at', 'text', (c) => c.notNull())
    .addColumn('figures', 'text', (c) => c.notNull().check(sql`json_valid(figures)`))
    .modifyEnd(strict)
    .execute()

  // One row: the moment that judgements are of, and the revisions up to which the record is judged and weighed.
  await db.schema
    .createTable('books')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('judged_for', 'text')
    .addColumn('judged_revision', 'integer', (c) => c.notNull().defaultTo(-1))
    .addColumn('weighed_revision', 'integer', (c) => c.notNull().defaultTo(-1))
    .modifyEnd(strict)
    .execute()
  await sql`insert into books (id) values (1)`.execute(db)

  // Groups whose lines were looked at when a unit was judged: a change of theirs is a change for it too.
  await db.schema
    .createTable('judged_with')
    .addColumn('group_id', 'integer', (c) => c.notNull())
    .addColumn('unit_id', 'integer', (c) => c.notNull())
    .addPrimaryKeyConstraint('one_row_a_group_and_unit', ['group_id', 'unit_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema.createIndex('judged_with_by_unit').on('judged_with').column('unit_id').execute()

  // The moment that a group was judged for: a unit that is touched is judged anew before the rest of the fleet is.
  await sql`alter table group_standing add column judged_for text`.execute(db)

  for (const table of ['group_standing', 'finding', 'heavy', 'weighed_unit'])
    await sql`delete from ${sql.table(table)}`.execute(db)
  for (const table of ['assessment', 'weighing_state', 'weighed_basis']) await db.schema.dropTable(table).execute()
}
