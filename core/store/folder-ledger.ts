import { calibrationStage } from '#core/store/calibration-stage.ts'
import { recordImport } from '#core/store/change-log.ts'
import { type DatedFile, dated } from '#core/store/dated.ts'
import { type Kept, keptTable } from '#core/store/kept-table.ts'
import type { Store } from '#core/store/open.ts'
import { type TakenFor, storedSpelling } from '#core/store/look-alikes.ts'
import { readingBatches } from '#core/store/reading-batch.ts'
import { easeManyRows, numberOf } from '#core/store/rows.ts'
import { markAtOnce } from '#core/store/seals.ts'
import { ticketBatches } from '#core/store/ticket-batch.ts'
import type { AttachmentRecord } from '#core/store/ticket-attachments.ts'
import type { ChangeSubject, Hand } from '#core/words/change.ts'

/** Every named place of the fleet: yards, scales and sensors by name, units with their groups and circuits. */
export interface StoredPlaces {
  readonly yards: readonly [string, number][]
  readonly scales: readonly [string, number][]
  readonly sensors: readonly [string, number][]
  readonly units: readonly [string, number][]
  /** Unit id, name, id. */
  readonly groups: readonly [number, string, number][]
  /** Group id, name, id. */
  readonly circuits: readonly [number, string, number][]
}

/** The tables that most rows of a file go into. */
const rowsOf = {
  tickets: ['ticket', 'ticket_weight'],
  readings: ['reading', 'reading_pressure'],
  calibrations: ['calibration', 'calibration_point'],
} as const
type LongFile = keyof typeof rowsOf
export const isLong = (file: string): file is LongFile => file in rowsOf

/** Whether so many rows come that what is done at each of them had better be done once, at the end. */
const isMass = (rows: number, stored: () => number): boolean => rows > 100_000 && rows > 2 * stored()

/**
 * KiB, negative as SQLite wants it: rows that are mostly added need few pages at hand, and the sorter takes as much
 * again.
 */
const importCache = -32_768

const datedFiles = Object.keys(dated) as DatedFile[]

/**
 * What an import of a fleet folder asks of the store and tells it, inside one write transaction that ends with `commit`
 * or `rollback`. `expectedRows`: of all its files, about. The connection must do nothing else meanwhile.
 */
export function openFolderLedger(store: Store, expectedRows: number) {
  const { raw } = store
  const cache = raw.pragma('cache_size', { simple: true })
  const stored = {
    tickets: () => numberOf(raw, 'select count(*) from ticket_weight'),
    readings: () => numberOf(raw, 'select count(*) from reading_pressure'),
    calibrations: () => numberOf(raw, 'select count(*) from calibration_point'),
  }
  // Looked up at each row they take half of the time; SQLite lets them rest only outside a transaction.
  const keysRest = isMass(expectedRows, () => stored.tickets() + stored.readings() + stored.calibrations())
  if (keysRest) raw.pragma('foreign_keys = OFF')
  try {
    raw.exec('begin immediate')
  } catch (error) {
    raw.pragma('foreign_keys = ON')
    throw error
  }
  raw.pragma(`cache_size = ${importCache}`)
  const takenFor: TakenFor[] = []
  const spelt = (table: string, name: string, ...scope: readonly string[]) =>
    storedSpelling(raw, { table, scope, name }, (taken) => {
      if (!takenFor.some((before) => before.name === taken.name)) takenFor.push(taken)
    })
  const readings = keptTable(raw, {
    table: 'reading',
    key: ['name'],
    columns: ['taken_at', 'ticket_id', 'elevation_ft', 'temperature_f', 'lift', 'driver', 'lane'],
    needed: ['taken_at'],
  })
  const tickets = keptTable(raw, {
    table: 'ticket',
    key: ['scale_id', 'number'],
    spelt: spelt('ticket', 'number', 'scale_id'),
    needed: ['weighed_at'],
    columns: ['weighed_at', 'gross_lb', 'driver', 'lane'],
  })
  const ticketWeights = keptTable(raw, {
    table: 'ticket_weight',
    key: ['ticket_id', 'unit_id', 'group_id'],
    nullable: ['group_id'],
    columns: ['weight_lb'],
  })
  const all = <T>(sql: string) => raw.prepare(sql).raw().all() as T[]
  const nameOf = (sql: string) => {
    const statement = raw.prepare(sql).pluck()
    return (id: number) => statement.get(id) as string
  }
  const groupWeight = raw
    .prepare('select 1 from ticket_weight where ticket_id = ? and unit_id = ? and ifnull(group_id, 0) = ?')
    .pluck()
  const weighedTogether = raw
    .prepare('select 1 from ticket_together where ticket_id = ? and ? in (first_group_id, second_group_id) and id <> ?')
    .pluck()
  const anyTogether = raw.prepare('select exists (select 1 from ticket_together)').pluck()
  const standIn = raw.prepare('insert into reading_unit (reading_id, unit_id) values (?, ?) on conflict do nothing')
  // By the reading, whose pressures lie side by side, and not by the index over circuits, whose places lie far apart.
  const groupPressures = raw
    .prepare('select c.group_id from reading_pressure p join circuit c on c.id = +p.circuit_id where p.reading_id = ?')
    .pluck()
  const groupWeights = raw
    .prepare('select group_id from ticket_weight where ticket_id = ? and group_id is not null')
    .pluck()
  const attachment = {
    add: raw.prepare(
      'insert into attachment (sha256, media_type, size_bytes, file_name) values (?, ?, ?, ?) on conflict do nothing',
    ),
    link: raw.prepare('insert into ticket_attachment (ticket_id, sha256) values (?, ?) on conflict do nothing'),
    name: raw.prepare('select file_name from attachment where sha256 = ?').pluck(),
  }
  const end = (statement: 'commit' | 'rollback', stage: { drop(): void }) => {
    if (raw.inTransaction) raw.exec(statement)
    // Settings of the connection, which no rollback takes back.
    raw.pragma('ignore_check_constraints = OFF')
    raw.pragma('foreign_keys = ON')
    raw.pragma(`cache_size = ${cache}`)
    stage.drop()
  }
  const stage = calibrationStage(raw)

  return {
    readPlaces: (): StoredPlaces => ({
      yards: all('select name, id from yard'),
      scales: all('select name, id from scale'),
      sensors: all('select serial, id from sensor'),
      units: all('select number, id from unit'),
      groups: all('select unit_id, name, id from axle_group'),
      circuits: all('select group_id, name, id from circuit'),
    }),
    yards: keptTable(raw, {
      table: 'yard',
      key: ['name'],
      spelt: spelt('yard', 'name'),
      columns: ['elevation_ft', 'working_days', 'holidays', 'jobs_per_day'],
    }),
    units: keptTable(raw, {
      table: 'unit',
      key: ['number'],
      spelt: spelt('unit', 'number'),
      needed: ['kind'],
      columns: [
        'kind',
        'vin',
        'plate',
        'plate_region',
        'make',
        'model',
        'model_year',
        'yard_id',
        'gross_limit_lb',
        'fifth_wheel_ft',
      ],
    }),
    axleGroups: keptTable(raw, {
      table: 'axle_group',
      key: ['unit_id', 'name'],
      spelt: spelt('axle_group', 'name', 'unit_id'),
      needed: ['role', 'axles'],
      columns: ['role', 'axles', 'first_axle_ft', 'axle_spacing_ft', 'limit_lb', 'measured_by'],
    }),
    circuits: keptTable(raw, {
      table: 'circuit',
      key: ['group_id', 'name'],
      spelt: spelt('circuit', 'name', 'group_id'),
      columns: ['air_springs', 'spring_area_in2', 'ride_height_in'],
    }),
    sensors: keptTable(raw, {
      table: 'sensor',
      key: ['serial'],
      spelt: spelt('sensor', 'serial'),
      needed: ['reference'],
      columns: ['reference', 'range_psi', 'resolution_psi', 'accuracy_psi', 'cell', 'report_every_s'],
    }),
    mounts: keptTable(raw, { table: 'mount', key: ['sensor_id', 'circuit_id', 'mounted_at'], columns: ['removed_at'] }),
    batteryChanges: keptTable(raw, {
      table: 'battery_change',
      key: ['sensor_id', 'changed_at'],
      columns: ['reason', 'cell'],
    }),
    scales: keptTable(raw, {
      table: 'scale',
      key: ['name'],
      spelt: spelt('scale', 'name'),
      columns: ['division_lb', 'elevation_ft', 'tolerance_percent'],
    }),
    tickets,
    ticketWeights,
    ticketBatches: ticketBatches(raw, tickets, ticketWeights),
    /** Weights of two groups on one platform; the group of the lower id first. */
    ticketsTogether: keptTable(raw, {
      table: 'ticket_together',
      key: ['ticket_id', 'first_group_id', 'second_group_id'],
      columns: ['unit_id', 'weight_lb'],
    }),
    readings,
    readingBatches: readingBatches(raw, readings),
    calibrationStage: stage,
    events: keptTable(raw, {
      table: 'event',
      key: ['unit_id', 'group_id', 'circuit_id', 'happened_at', 'kind'],
      nullable: ['group_id', 'circuit_id'],
      columns: ['note'],
    }),
    /** Names of this import that were taken for others that are stored and look the same. */
    takenFor: takenFor as readonly TakenFor[],
    yardName: nameOf('select name from yard where id = ?'),
    ticketName: nameOf(
      "select t.number || ' of ' || s.name from ticket t join scale s on s.id = t.scale_id where t.id = ?",
    ),
    ticketHasWeight: (ticketId: number, unitId: number, groupId: number) =>
      groupWeight.get(ticketId, unitId, groupId) !== undefined,
    /** Whether a ticket weighs a group on one platform with another, other than in the row of an id. */
    isWeighedTogether: (ticketId: number, groupId: number, exceptId = 0) =>
      weighedTogether.get(ticketId, groupId, exceptId) !== undefined,
    hasWeightsTogether: (): boolean => anyTogether.get() === 1,
    /** Names a unit that stood in a reading without a pressure of its own. */
    standIn: (readingId: number, unitId: number): Kept => ({
      outcome: standIn.run(readingId, unitId).changes === 1 ? 'added' : 'same',
      id: readingId,
    }),
    /** Ids of the groups that a ticket weighs each by itself. */
    groupsOfTicket: (ticketId: number) => new Set(groupWeights.all(ticketId) as number[]),
    /** Ids of the groups that a reading has pressures of. */
    groupsOfReading: (readingId: number) => new Set(groupPressures.all(readingId) as number[]),
    /** Ties a file that lies in place to a ticket; answers whether that is new, and the name that it is kept under. */
    attach: (ticketId: number, { sha256, type, bytes, name }: AttachmentRecord): { isNew: boolean; name: string } => {
      attachment.add.run(sha256, type, bytes, name)
      return { isNew: attachment.link.run(ticketId, sha256).changes === 1, name: attachment.name.get(sha256) as string }
    },
    /** Makes ready for about so many rows of a file; what it returns is to be called after them. */
    expectRows: (file: LongFile, rows: number): (() => void) => {
      if (!isMass(rows, stored[file])) return () => undefined
      const ends = [easeManyRows(raw, file), markAtOnce(raw, rowsOf[file])]
      return () => {
        for (const done of ends) done()
      }
    },
    /** Counts the import as one change and takes it down, with what it counted. */
    logImport(
      hand: Hand,
      { subject, key }: { readonly subject: ChangeSubject; readonly key: string },
      counts: unknown,
    ) {
      recordImport(store, hand, { unitId: null, subject, key, action: 'imported', new: counts })
    },
    /** What the record holds that is dated after a stored instant, by the folder's file: how many, and the latest. */
    datedAfter: (at: string): { file: DatedFile; records: number; latest: string }[] =>
      datedFiles.flatMap((file) => {
        const { table, column } = dated[file]
        const [records, latest] = raw
          .prepare(`select count(*), max(${column}) from ${table} where ${column} > ?`)
          .raw()
          .get(at) as [number, string | null]
        return latest === null ? [] : [{ file, records, latest }]
      }),
    /** Errors: a RangeError, and nothing is stored, where a row names one that is not there. */
    commit: () => {
      const broken = keysRest ? (raw.pragma('foreign_key_check') as { table: string; parent: string }[]) : []
      if (broken[0])
        throw new RangeError(`${broken.length} rows, as of ${broken[0].table}, name no ${broken[0].parent}`)
      end('commit', stage)
    },
    rollback: () => end('rollback', stage),
  }
}

export type FolderLedger = ReturnType<typeof openFolderLedger>

/** Values of one row in the column order of its file; null where nothing is known. */
export type FolderValues = readonly (string | number | null)[]

const unitOfGroup = 'join unit u on u.id = g.unit_id'
/** Of a circuit or of a calibration, both `c`. */
const unitOfCircuit = `join axle_group g on g.id = c.group_id ${unitOfGroup}`
const scaleOfTicket = 'join scale s on s.id = t.scale_id'
const ticketOfReading = 'left join ticket t on t.id = r.ticket_id left join scale s on s.id = t.scale_id'

/**
 * The questions whose answers are the rows of a fleet folder's files, in an order that depends on nothing but the
 * record: by name where a file lists things, by time where it tells what happened. Voided calibrations are left out.
 */
const questions = {
  yards: 'select name, elevation_ft, working_days, holidays, jobs_per_day from yard order by name',
  units: `select u.number, u.kind, u.vin, u.plate, u.plate_region, u.make, u.model, u.model_year, y.name,
      u.gross_limit_lb, u.fifth_wheel_ft
    from unit u left join yard y on y.id = u.yard_id order by u.number`,
  axleGroups: `select u.number, g.name, g.role, g.axles, g.first_axle_ft, g.axle_spacing_ft, g.limit_lb, g.measured_by
    from axle_group g ${unitOfGroup} order by u.number, g.name`,
  circuits: `select u.number, g.name, c.name, c.air_springs, c.spring_area_in2, c.ride_height_in
    from circuit c ${unitOfCircuit} order by u.number, g.name, c.name`,
  sensors: `select serial, reference, range_psi, resolution_psi, accuracy_psi, cell, report_every_s
    from sensor order by serial`,
  mounts: `select s.serial, u.number, g.name, c.name, m.mounted_at, m.removed_at
    from mount m join sensor s on s.id = m.sensor_id join circuit c on c.id = m.circuit_id ${unitOfCircuit}
    order by s.serial, m.mounted_at, u.number, g.name, c.name`,
  batteryChanges: `select s.serial, b.changed_at, b.reason, b.cell
    from battery_change b join sensor s on s.id = b.sensor_id order by s.serial, b.changed_at`,
  scales: 'select name, division_lb, elevation_ft, tolerance_percent from scale order by name',
  tickets: `select s.name, t.number, t.weighed_at, u.number, g.name, w.weight_lb, t.gross_lb, t.driver, t.lane
    from ticket t ${scaleOfTicket} join ticket_weight w on w.ticket_id = t.id
    join unit u on u.id = w.unit_id left join axle_group g on g.id = w.group_id
    where w.group_id is not null
      or not exists (select 1 from ticket_together b where b.ticket_id = w.ticket_id and b.unit_id = w.unit_id)
    union all
    select s.name, t.number, t.weighed_at, u.number,
      iif((ifnull(g.first_axle_ft, 0), g.name) <= (ifnull(h.first_axle_ft, 0), h.name),
        g.name || ' + ' || h.name, h.name || ' + ' || g.name), b.weight_lb, t.gross_lb, t.driver, t.lane
    from ticket_together b join ticket t on t.id = b.ticket_id ${scaleOfTicket} join unit u on u.id = b.unit_id
    join axle_group g on g.id = b.first_group_id join axle_group h on h.id = b.second_group_id
    order by 3, 1, 2, 4, 5`,
  readings: `select r.name, r.taken_at, u.number, g.name, c.name, p.psi, s.name, t.number, r.elevation_ft,
      r.temperature_f, r.lift, r.driver, r.lane
    from reading r join reading_pressure p on p.reading_id = r.id
    join circuit c on c.id = p.circuit_id ${unitOfCircuit} ${ticketOfReading}
    union all
    select r.name, r.taken_at, u.number, null, null, null, s.name, t.number, r.elevation_ft, r.temperature_f, r.lift,
      r.driver, r.lane
    from reading_unit n join reading r on r.id = n.reading_id join unit u on u.id = n.unit_id ${ticketOfReading}
    order by 2, 1, 3, 4, 5`,
  calibrations: `select u.number, g.name, c.calibrated_at, c.calibrated_by, s.name, t.number, r.name
    from calibration c join calibration_point p on p.calibration_id = c.id ${unitOfCircuit}
    join ticket t on t.id = p.ticket_id ${scaleOfTicket} join reading r on r.id = p.reading_id
    where c.voided_at is null order by c.calibrated_at, u.number, g.name, s.name, t.number, r.name`,
  events: `select u.number, g.name, c.name, e.happened_at, e.kind, e.note
    from event e join unit u on u.id = e.unit_id
    left join axle_group g on g.id = e.group_id left join circuit c on c.id = e.circuit_id
    order by e.happened_at, u.number, g.name, c.name, e.kind`,
  attachments: `select s.name, t.number, a.sha256, a.media_type, a.file_name
    from ticket_attachment l join attachment a using (sha256) join ticket t on t.id = l.ticket_id ${scaleOfTicket}
    order by t.weighed_at, s.name, t.number, a.sha256`,
} as const

/** The tables of the files' late columns, which stand there under the same names. */
const lateTables: Partial<Record<keyof typeof questions, string>> = {
  yards: 'yard',
  tickets: 'ticket',
  readings: 'reading',
}

export interface FolderReader {
  rows(file: keyof typeof questions): IterableIterator<FolderValues>
  /** Whether any record has something to say in a late column of a file. */
  says(file: keyof typeof questions, column: string): boolean
  close(): void
}

/**
 * Reads the record as it stands now, whatever is written meanwhile; `close` ends that. The connection does nothing else
 * in between.
 */
export function openFolderReader({ raw }: Store): FolderReader {
  raw.exec('begin')
  return {
    rows: (file) => raw.prepare(questions[file]).raw().iterate() as IterableIterator<FolderValues>,
    says: (file, column) =>
      raw.prepare(`select exists (select 1 from ${lateTables[file]} where ${column} is not null)`).pluck().get() === 1,
    close: () => {
      if (raw.inTransaction) raw.exec('rollback')
    },
  }
}
