import { type Kysely, sql } from 'kysely'
import { sealsMade } from './seal-table.ts'

/** The units that a change of a row of some table alters the Roster's line of; `row` is `new` or `old`. */
const linesOf: Readonly<Record<string, (row: 'new' | 'old') => string>> = {
  unit: (row) => `select ${row}.id where true`,
  yard: (row) => `select id from unit where yard_id = ${row}.id`,
  group_standing: (row) => `select ${row}.unit_id where true`,
  finding: (row) => `select ${row}.unit_id where ${row}.unit_id is not null`,
  mount: (row) =>
    `select g.unit_id from circuit c join axle_group g on g.id = c.group_id where c.id = ${row}.circuit_id`,
  battery_change: (row) =>
    `select g.unit_id from mount m join circuit c on c.id = m.circuit_id join axle_group g on g.id = c.group_id
      where m.sensor_id = ${row}.sensor_id and m.removed_at is null`,
}

/**
 * The Roster's line of each unit as it is shown, with what it is sorted and searched by, so that a page of a large
 * fleet is read and not reckoned. It follows from the record and its judgements: any change of these marks the units it
 * is about by triggers, whichever program makes it, and marked lines are made anew (core/store/roster-lines.ts).
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('roster_line')
    .addColumn('unit_id', 'integer', (c) => c.primaryKey())
    .addColumn('number', 'text', (c) => c.notNull())
    // The number as people count: T-9 before T-10.
    .addColumn('number_key', 'text', (c) => c.notNull())
    .addColumn('kind', 'text', (c) => c.notNull())
    .addColumn('make', 'text')
    .addColumn('model', 'text')
    .addColumn('model_year', 'integer')
    .addColumn('yard', 'text')
    .addColumn('retired', 'integer', (c) => c.notNull())
    .addColumn('trust', 'text')
    .addColumn('groups', 'integer', (c) => c.notNull())
    .addColumn('finding', 'text')
    // JSON of all its codes, the worst first.
    .addColumn('findings', 'text', (c) => c.notNull())
    .addColumn('calibrated_at', 'text')
    .addColumn('due_on', 'text')
    .addColumn('u_limit_lb', 'real')
    .addColumn('cell_since', 'text')
    .addColumn('unsensed', 'integer', (c) => c.notNull())
    .addColumn('trust_rank', 'integer', (c) => c.notNull())
    .addColumn('finding_rank', 'integer', (c) => c.notNull())
    // With a day and a figure where nothing is known, which come last among the alike.
    .addColumn('due_rank', 'text', (c) => c.notNull())
    .addColumn('u_rank', 'real', (c) => c.notNull())
    // Empty where it is to be seen to at once.
    .addColumn('due_key', 'text')
    .addColumn('model_key', 'text')
    // Small letters of all that the search looks in.
    .addColumn('words', 'text', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  // Mostly units in service alone are listed: each index begins with that.
  await sql`create index roster_line_worst_first on roster_line
    (retired, unsensed, trust_rank, finding_rank, due_rank, u_rank desc, number_key)`.execute(db)
  await sql`create index roster_line_by_number on roster_line (retired, number_key)`.execute(db)
  await sql`create index roster_line_counted on roster_line (retired, trust)`.execute(db)
  await sql`create index finding_by_code on finding (code, unit_id)`.execute(db)
  // Of units that are gone too, so without a reference.
  await db.schema
    .createTable('roster_behind')
    .addColumn('unit_id', 'integer', (c) => c.primaryKey())
    .modifyEnd(sql`strict`)
    .execute()
  for (const [table, units] of Object.entries(linesOf))
    for (const [word, event, rows] of [
      ['added', 'insert', ['new']],
      ['changed', 'update', ['old', 'new']],
      ['gone', 'delete', ['old']],
    ] as const) {
      const marks = rows.map((row) => `insert into roster_behind ${units(row)} on conflict do nothing;`)
      await sql
        .raw(`create trigger roster_${table}_${word} after ${event} on ${table} begin ${marks.join(' ')} end`)
        .execute(db)
    }
  // Lines change only as the marks go.
  await sealsMade(db, 'roster_behind')
  await sql`insert into roster_behind select id from unit`.execute(db)
}
