import { type CreateTableBuilder, type Kysely, sql } from 'kysely'

/**
 * The ledger: all tables of the fleet's record. Weights in lb, pressures in psi, lengths in ft or in as named, times as
 * UTC text `YYYY-MM-DDTHH:MM:SS.mmmZ`, whose text order is time order. The word lists repeat core/fleet as it was when
 * this step was written: a step never changes with the code of a later day.
 */

const strict = sql`strict`
const isTime = (column: string) =>
  sql`${sql.ref(column)} glob '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9].[0-9][0-9][0-9]Z'`
const isFilled = (column: string) => sql`length(trim(${sql.ref(column)})) > 0`
const between = (column: string, low: number, high: number) =>
  sql`${sql.ref(column)} between ${sql.lit(low)} and ${sql.lit(high)}`
const oneOf = (column: string, words: readonly string[]) =>
  sql`${sql.ref(column)} in (${sql.join(words.map((word) => sql.lit(word)))})`

const unitKinds = ['tractor', 'trailer', 'truck']
const roles = ['steer', 'drive', 'trailer', 'lift']
const measures = ['circuit', 'estimate', 'ticket']
const liftStates = ['raised', 'lowered', 'none']
const batteryReasons = ['new', 'scheduled', 'low', 'dead']
const eventKinds = [
  'valve replaced',
  'height set',
  'spring replaced',
  'sensor swapped',
  'air line repaired',
  'axle work',
  'body work',
  'other',
]

const withId = (db: Kysely<unknown>, table: string): CreateTableBuilder<string, 'id'> =>
  db.schema.createTable(table).addColumn('id', 'integer', (c) => c.primaryKey())

async function createFleet(db: Kysely<unknown>): Promise<void> {
  await withId(db, 'yard')
    .addColumn('name', 'text', (c) => c.notNull().unique().check(isFilled('name')))
    .addColumn('elevation_ft', 'real', (c) => c.check(between('elevation_ft', -1500, 20000)))
    .modifyEnd(strict)
    .execute()

  await withId(db, 'unit')
    .addColumn('number', 'text', (c) => c.notNull().unique().check(isFilled('number')))
    .addColumn('kind', 'text', (c) => c.notNull().check(oneOf('kind', unitKinds)))
    .addColumn('vin', 'text')
    .addColumn('plate', 'text')
    .addColumn('plate_region', 'text')
    .addColumn('make', 'text')
    .addColumn('model', 'text')
    .addColumn('model_year', 'integer', (c) => c.check(between('model_year', 1900, 2100)))
    .addColumn('yard_id', 'integer', (c) => c.references('yard.id'))
    .addColumn('gross_limit_lb', 'real', (c) => c.check(between('gross_limit_lb', 1, 1_000_000)))
    .addColumn('fifth_wheel_ft', 'real', (c) => c.check(between('fifth_wheel_ft', -10, 60)))
    .addColumn('service_state', 'text', (c) =>
      c
        .notNull()
        .defaultTo('in service')
        .check(oneOf('service_state', ['in service', 'retired'])),
    )
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('unit_by_yard').on('unit').column('yard_id').execute()

  await withId(db, 'axle_group')
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('name', 'text', (c) => c.notNull().check(isFilled('name')))
    .addColumn('role', 'text', (c) => c.notNull().check(oneOf('role', roles)))
    .addColumn('axles', 'integer', (c) => c.notNull().check(between('axles', 1, 12)))
    .addColumn('first_axle_ft', 'real', (c) => c.check(between('first_axle_ft', -20, 200)))
    .addColumn('axle_spacing_ft', 'real', (c) => c.check(between('axle_spacing_ft', 0, 60)))
    .addColumn('limit_lb', 'real', (c) => c.check(between('limit_lb', 1, 400_000)))
    .addColumn('measured_by', 'text', (c) => c.check(oneOf('measured_by', measures)))
    .addUniqueConstraint('one_group_of_a_name', ['unit_id', 'name'])
    .modifyEnd(strict)
    .execute()

  await withId(db, 'circuit')
    .addColumn('group_id', 'integer', (c) => c.notNull().references('axle_group.id'))
    .addColumn('name', 'text', (c) => c.notNull().check(isFilled('name')))
    .addColumn('air_springs', 'integer', (c) => c.check(between('air_springs', 1, 24)))
    .addColumn('spring_area_in2', 'real', (c) => c.check(between('spring_area_in2', 1, 400)))
    .addColumn('ride_height_in', 'real', (c) => c.check(between('ride_height_in', 0, 60)))
    .addUniqueConstraint('one_circuit_of_a_name', ['group_id', 'name'])
    .modifyEnd(strict)
    .execute()
}

async function createSensors(db: Kysely<unknown>): Promise<void> {
  await withId(db, 'sensor')
    .addColumn('serial', 'text', (c) => c.notNull().unique().check(isFilled('serial')))
    .addColumn('reference', 'text', (c) => c.notNull().check(oneOf('reference', ['gauge', 'absolute'])))
    .addColumn('range_psi', 'real', (c) => c.check(between('range_psi', 1, 1000)))
    .addColumn('resolution_psi', 'real', (c) => c.check(between('resolution_psi', 0, 50)))
    .addColumn('accuracy_psi', 'real', (c) => c.check(between('accuracy_psi', 0, 100)))
    .addColumn('cell', 'text')
    .addColumn('report_every_s', 'real', (c) => c.check(between('report_every_s', 1, 604_800)))
    .modifyEnd(strict)
    .execute()

  await withId(db, 'mount')
    .addColumn('sensor_id', 'integer', (c) => c.notNull().references('sensor.id'))
    .addColumn('circuit_id', 'integer', (c) => c.notNull().references('circuit.id'))
    .addColumn('mounted_at', 'text', (c) => c.notNull().check(isTime('mounted_at')))
    .addColumn('removed_at', 'text', (c) => c.check(isTime('removed_at')))
    .addColumn('teed_in_at', 'text')
    .addColumn('mounted_where', 'text')
    .addColumn('line_length_in', 'real', (c) => c.check(between('line_length_in', 0, 2000)))
    .addColumn('leak_check', 'text', (c) => c.check(oneOf('leak_check', ['tight', 'leaking', 'not done'])))
    .addColumn('gauge_psi', 'real', (c) => c.check(between('gauge_psi', -15, 2000)))
    .addColumn('gauge_sensor_psi', 'real', (c) => c.check(between('gauge_sensor_psi', -15, 2000)))
    .addUniqueConstraint('one_mount_of_a_start', ['sensor_id', 'circuit_id', 'mounted_at'])
    .addCheckConstraint('mount_ends_after_it_starts', sql`removed_at is null or removed_at >= mounted_at`)
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('mount_by_circuit').on('mount').columns(['circuit_id', 'mounted_at']).execute()

  await withId(db, 'battery_change')
    .addColumn('sensor_id', 'integer', (c) => c.notNull().references('sensor.id'))
    .addColumn('changed_at', 'text', (c) => c.notNull().check(isTime('changed_at')))
    .addColumn('reason', 'text', (c) => c.check(oneOf('reason', batteryReasons)))
    .addColumn('cell', 'text')
    .addUniqueConstraint('one_battery_change_of_a_time', ['sensor_id', 'changed_at'])
    .modifyEnd(strict)
    .execute()
}

async function createEvidence(db: Kysely<unknown>): Promise<void> {
  await withId(db, 'scale')
    .addColumn('name', 'text', (c) => c.notNull().unique().check(isFilled('name')))
    .addColumn('division_lb', 'real', (c) => c.check(between('division_lb', 0.1, 1000)))
    .addColumn('elevation_ft', 'real', (c) => c.check(between('elevation_ft', -1500, 20000)))
    .addColumn('tolerance_percent', 'real', (c) => c.check(between('tolerance_percent', 0, 10)))
    .modifyEnd(strict)
    .execute()

  await withId(db, 'ticket')
    .addColumn('scale_id', 'integer', (c) => c.notNull().references('scale.id'))
    .addColumn('number', 'text', (c) => c.notNull().check(isFilled('number')))
    .addColumn('weighed_at', 'text', (c) => c.notNull().check(isTime('weighed_at')))
    .addColumn('local_zone', 'text')
    .addColumn('gross_lb', 'real', (c) => c.check(between('gross_lb', 0, 1_000_000)))
    .addColumn('note', 'text')
    .addUniqueConstraint('one_ticket_of_a_number', ['scale_id', 'number'])
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('ticket_by_time').on('ticket').column('weighed_at').execute()

  // A ticket that only tells gross still names its units: their row has no group and no weight.
  await withId(db, 'ticket_weight')
    .addColumn('ticket_id', 'integer', (c) => c.notNull().references('ticket.id'))
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('group_id', 'integer', (c) => c.references('axle_group.id'))
    .addColumn('weight_lb', 'real', (c) => c.check(between('weight_lb', 0, 400_000)))
    .addCheckConstraint('weight_goes_with_group', sql`(group_id is null) = (weight_lb is null)`)
    .modifyEnd(strict)
    .execute()
  await sql`create unique index one_weight_of_a_group on ticket_weight (ticket_id, unit_id, ifnull(group_id, 0))`.execute(
    db,
  )
  await db.schema.createIndex('ticket_weight_by_group').on('ticket_weight').column('group_id').execute()
  await db.schema.createIndex('ticket_weight_by_unit').on('ticket_weight').column('unit_id').execute()

  await withId(db, 'reading')
    .addColumn('name', 'text', (c) => c.notNull().unique().check(isFilled('name')))
    .addColumn('taken_at', 'text', (c) => c.notNull().check(isTime('taken_at')))
    .addColumn('local_zone', 'text')
    .addColumn('ticket_id', 'integer', (c) => c.references('ticket.id'))
    .addColumn('elevation_ft', 'real', (c) => c.check(between('elevation_ft', -1500, 20000)))
    .addColumn('temperature_f', 'real', (c) => c.check(between('temperature_f', -100, 200)))
    .addColumn('lift', 'text', (c) => c.check(oneOf('lift', liftStates)))
    .addColumn('source', 'text')
    .addColumn('note', 'text')
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('reading_by_time').on('reading').column('taken_at').execute()
  await sql`create index reading_by_ticket on reading (ticket_id) where ticket_id is not null`.execute(db)

  await db.schema
    .createTable('reading_pressure')
    .addColumn('reading_id', 'integer', (c) => c.notNull().references('reading.id'))
    .addColumn('circuit_id', 'integer', (c) => c.notNull().references('circuit.id'))
    .addColumn('psi', 'real', (c) => c.notNull().check(between('psi', -15, 2000)))
    .addPrimaryKeyConstraint('one_pressure_of_a_circuit', ['reading_id', 'circuit_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema.createIndex('reading_pressure_by_circuit').on('reading_pressure').column('circuit_id').execute()

  await db.schema
    .createTable('attachment')
    .addColumn('sha256', 'text', (c) => c.primaryKey().check(sql`length(sha256) = 64`))
    .addColumn('media_type', 'text', (c) =>
      c.notNull().check(oneOf('media_type', ['image/jpeg', 'image/png', 'application/pdf'])),
    )
    .addColumn('size_bytes', 'integer', (c) => c.notNull().check(between('size_bytes', 1, 20_971_520)))
    .addColumn('file_name', 'text', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()
  await db.schema
    .createTable('ticket_attachment')
    .addColumn('ticket_id', 'integer', (c) => c.notNull().references('ticket.id'))
    .addColumn('sha256', 'text', (c) => c.notNull().references('attachment.sha256'))
    .addPrimaryKeyConstraint('one_attachment_of_a_ticket', ['ticket_id', 'sha256'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
}

async function createLines(db: Kysely<unknown>): Promise<void> {
  await withId(db, 'calibration')
    .addColumn('group_id', 'integer', (c) => c.notNull().references('axle_group.id'))
    .addColumn('calibrated_at', 'text', (c) => c.notNull().check(isTime('calibrated_at')))
    .addColumn('calibrated_by', 'text')
    .addColumn('voided_at', 'text', (c) => c.check(isTime('voided_at')))
    .addColumn('voided_by', 'text')
    .addColumn('void_reason', 'text')
    .addCheckConstraint('void_says_why', sql`(voided_at is null) = (void_reason is null)`)
    .modifyEnd(strict)
    .execute()
  // A voided calibration may be entered anew for the same time; two valid ones may not stand side by side.
  await sql`create unique index one_valid_calibration_of_a_time on calibration (group_id, calibrated_at)
    where voided_at is null`.execute(db)
  await db.schema.createIndex('calibration_by_group').on('calibration').columns(['group_id', 'calibrated_at']).execute()

  await db.schema
    .createTable('calibration_point')
    .addColumn('calibration_id', 'integer', (c) => c.notNull().references('calibration.id'))
    .addColumn('ticket_id', 'integer', (c) => c.notNull().references('ticket.id'))
    .addColumn('reading_id', 'integer', (c) => c.notNull().references('reading.id'))
    .addPrimaryKeyConstraint('one_point_of_a_pair', ['calibration_id', 'ticket_id', 'reading_id'])
    .modifyEnd(sql`strict, without rowid`)
    .execute()
  await db.schema.createIndex('calibration_point_by_ticket').on('calibration_point').column('ticket_id').execute()
  await db.schema.createIndex('calibration_point_by_reading').on('calibration_point').column('reading_id').execute()

  await sql`create trigger calibration_is_append_only before update on calibration
    when old.voided_at is not null or new.id is not old.id or new.group_id is not old.group_id
      or new.calibrated_at is not old.calibrated_at or new.calibrated_by is not old.calibrated_by or new.voided_at is null
    begin select raise(abort, 'a calibration is never edited, only voided once, with a reason'); end`.execute(db)
  await sql`create trigger calibration_is_kept before delete on calibration
    begin select raise(abort, 'a calibration is never deleted'); end`.execute(db)
  await sql`create trigger calibration_point_is_append_only before update on calibration_point
    begin select raise(abort, 'the points of a calibration are never edited'); end`.execute(db)
  await sql`create trigger calibration_point_is_kept before delete on calibration_point
    begin select raise(abort, 'the points of a calibration are never deleted'); end`.execute(db)

  await withId(db, 'event')
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('group_id', 'integer', (c) => c.references('axle_group.id'))
    .addColumn('circuit_id', 'integer', (c) => c.references('circuit.id'))
    .addColumn('happened_at', 'text', (c) => c.notNull().check(isTime('happened_at')))
    .addColumn('kind', 'text', (c) => c.notNull().check(oneOf('kind', eventKinds)))
    .addColumn('note', 'text')
    .addCheckConstraint('circuit_goes_with_group', sql`circuit_id is null or group_id is not null`)
    .modifyEnd(strict)
    .execute()
  await sql`create unique index one_event_of_a_time on event
    (unit_id, ifnull(group_id, 0), ifnull(circuit_id, 0), happened_at, kind)`.execute(db)
}

async function createHouse(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('house_rule')
    .addColumn('name', 'text', (c) => c.primaryKey().check(isFilled('name')))
    .addColumn('value', 'real', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()

  await withId(db, 'change_log')
    .addColumn('changed_at', 'text', (c) => c.notNull().check(isTime('changed_at')))
    .addColumn('changed_by', 'text', (c) => c.notNull())
    .addColumn('unit_id', 'integer', (c) => c.references('unit.id'))
    .addColumn('subject', 'text', (c) => c.notNull())
    .addColumn('subject_key', 'text', (c) => c.notNull())
    .addColumn('action', 'text', (c) => c.notNull())
    .addColumn('old_value', 'text', (c) => c.check(sql`old_value is null or json_valid(old_value)`))
    .addColumn('new_value', 'text', (c) => c.check(sql`new_value is null or json_valid(new_value)`))
    .addColumn('reason', 'text')
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('change_log_by_unit').on('change_log').columns(['unit_id', 'changed_at']).execute()
  await sql`create trigger change_log_is_append_only before update on change_log
    begin select raise(abort, 'the change log is never edited'); end`.execute(db)
  await sql`create trigger change_log_is_kept before delete on change_log
    begin select raise(abort, 'the change log is never deleted'); end`.execute(db)

  // One row: counts the committed changes of the record, so that a derived table can tell whether it is current.
  await db.schema
    .createTable('ledger')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('revision', 'integer', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()
  await sql`insert into ledger (id, revision) values (1, 0)`.execute(db)
}

/** Derived tables: what the assessment of the record came to. They may be emptied at any time and are made anew. */
async function createAssessment(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .createTable('assessment')
    .addColumn('id', 'integer', (c) => c.primaryKey().check(sql`id = 1`))
    .addColumn('as_of', 'text', (c) => c.notNull().check(isTime('as_of')))
    .addColumn('revision', 'integer', (c) => c.notNull())
    .addColumn('estimates', 'text', (c) => c.notNull().check(sql`json_valid(estimates)`))
    .modifyEnd(strict)
    .execute()

  await db.schema
    .createTable('group_standing')
    .addColumn('group_id', 'integer', (c) => c.primaryKey().references('axle_group.id'))
    .addColumn('unit_id', 'integer', (c) => c.notNull().references('unit.id'))
    .addColumn('trust', 'text', (c) =>
      c.notNull().check(oneOf('trust', ['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon', 'sound'])),
    )
    .addColumn('calibration_id', 'integer', (c) => c.references('calibration.id'))
    .addColumn('calibrated_at', 'text')
    .addColumn('due_on', 'text')
    .addColumn('a', 'real')
    .addColumn('b', 'real')
    .addColumn('u_a', 'real')
    .addColumn('u_b', 'real')
    .addColumn('cov_ab', 'real')
    .addColumn('u_limit_lb', 'real')
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('group_standing_by_unit').on('group_standing').column('unit_id').execute()

  await withId(db, 'finding')
    .addColumn('unit_id', 'integer', (c) => c.references('unit.id'))
    .addColumn('group_id', 'integer', (c) => c.references('axle_group.id'))
    .addColumn('circuit_id', 'integer', (c) => c.references('circuit.id'))
    .addColumn('scale_id', 'integer', (c) => c.references('scale.id'))
    .addColumn('ticket_id', 'integer', (c) => c.references('ticket.id'))
    .addColumn('code', 'text', (c) => c.notNull())
    .addColumn('severity', 'text', (c) => c.notNull().check(oneOf('severity', ['stop', 'warn', 'note'])))
    .addColumn('since', 'text')
    .addColumn('numbers', 'text', (c) => c.notNull().check(sql`json_valid(numbers)`))
    .addColumn('message', 'text', (c) => c.notNull())
    .addColumn('next_step', 'text', (c) => c.notNull())
    .modifyEnd(strict)
    .execute()
  await db.schema.createIndex('finding_by_unit').on('finding').column('unit_id').execute()
  await sql`create index finding_by_scale on finding (scale_id) where scale_id is not null`.execute(db)
}

export async function up(db: Kysely<unknown>): Promise<void> {
  await createFleet(db)
  await createSensors(db)
  await createEvidence(db)
  await createLines(db)
  await createHouse(db)
  await createAssessment(db)
}
