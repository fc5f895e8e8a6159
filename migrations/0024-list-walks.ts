import { type Kysely, sql } from 'kysely'
import { sealsMade } from './seal-table.ts'
import { writeSensorWords } from './sensor-words.ts'

/** What the Roster is narrowed by; it stands in every index of its lines, so that a page is a walk along one. */
const narrowed = ['retired', 'trust', 'kind', 'yard']

/** What each order goes by, before the unit's number and, so that nothing is left to be sorted, its id. */
const orders: Readonly<Record<string, readonly string[]>> = {
  worst_first: ['unsensed', 'trust_rank', 'finding_rank', 'due_rank', 'u_rank desc'],
  by_finding: ['finding'],
  by_age: ['calibrated_at'],
  by_due_day: ['due_key'],
  by_uncertainty: ['u_limit_lb'],
  by_cell: ['cell_since'],
  by_yard: ['yard'],
  by_model: ['model_key'],
}

const seated = (rest: string) =>
  `s.id in (select m.sensor_id from mount m join circuit c on c.id = m.circuit_id ${rest} and m.removed_at is null)`

/** What changes the words of sensors, and of which. */
const changes: readonly (readonly [event: string, which: string])[] = [
  ['insert on sensor', 's.id = new.id'],
  ['update of serial on sensor', 's.id = new.id'],
  ['insert on mount', 's.id = new.sensor_id'],
  ['update on mount', 's.id in (old.sensor_id, new.sensor_id)'],
  ['delete on mount', 's.id = old.sensor_id'],
  ['update of name, group_id on circuit', seated('where c.id = new.id')],
  ['update of name, unit_id on axle_group', seated('where c.group_id = new.id')],
  ['update of number on unit', seated('join axle_group g on g.id = c.group_id where g.unit_id = new.id')],
]

/**
 * Gives the Roster's lines an index for each of its orders, which has its search in it or else all that it is narrowed
 * by, and one for its counts; and sensors the words that they are found by, in a table of their own that follows every
 * change of the record by triggers.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  for (const name of ['worst_first', 'by_number', 'counted'])
    await sql`drop index if exists ${sql.ref(`roster_line_${name}`)}`.execute(db)
  const index = (name: string, columns: readonly string[]) =>
    sql
      .raw(`create index roster_line_${name} on roster_line (${[...new Set([...columns, ...narrowed])].join(', ')})`)
      .execute(db)
  for (const [name, columns] of Object.entries(orders)) await index(name, [...columns, 'number_key', 'unit_id'])
  await index('by_number', ['number_key', 'unit_id', 'words', 'number'])
  await index('counted', ['trust'])
  await db.schema
    .createTable('sensor_words')
    .addColumn('sensor_id', 'integer', (c) => c.primaryKey())
    .addColumn('words', 'text', (c) => c.notNull())
    .modifyEnd(sql`strict`)
    .execute()
  for (const [event, which] of changes) {
    const name = `sensor_words_${event.replaceAll(/\W+/g, '_')}`
    await sql.raw(`create trigger ${name} after ${event} begin ${writeSensorWords(which)}; end`).execute(db)
  }
  await sql`create trigger sensor_words_delete_on_sensor after delete on sensor
    begin delete from sensor_words where sensor_id = old.id; end`.execute(db)
  await sealsMade(db, 'sensor_words')
  await sql.raw(writeSensorWords('true')).execute(db)
}
