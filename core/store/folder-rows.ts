import type { Store } from '#core/store/open.ts'

/** Values of one row in the column order of its file; null where nothing is known. */
export type FolderValues = readonly (string | number | null)[]

/**
 * The questions whose answers are the rows of a fleet folder's files, in an order that depends on nothing but the
 * record: by name where a file lists things, by time where it tells what happened. Voided calibrations are left out.
 */
const questions = {
  yards: 'select name, elevation_ft from yard order by name',
  units: `select u.number, u.kind, u.vin, u.plate, u.plate_region, u.make, u.model, u.model_year, y.name, u.gross_limit_lb, u.fifth_wheel_ft
    from unit u left join yard y on y.id = u.yard_id order by u.number`,
  axleGroups: `select u.number, g.name, g.role, g.axles, g.first_axle_ft, g.axle_spacing_ft, g.limit_lb, g.measured_by
    from axle_group g join unit u on u.id = g.unit_id order by u.number, g.name`,
  circuits: `select u.number, g.name, c.name, c.air_springs, c.spring_area_in2, c.ride_height_in
    from circuit c join axle_group g on g.id = c.group_id join unit u on u.id = g.unit_id order by u.number, g.name, c.name`,
  sensors:
    'select serial, reference, range_psi, resolution_psi, accuracy_psi, cell, report_every_s from sensor order by serial',
  mounts: `select s.serial, u.number, g.name, c.name, m.mounted_at, m.removed_at
    from mount m join sensor s on s.id = m.sensor_id join circuit c on c.id = m.circuit_id join axle_group g on g.id = c.group_id join unit u on u.id = g.unit_id
    order by s.serial, m.mounted_at, u.number, g.name, c.name`,
  batteryChanges: `select s.serial, b.changed_at, b.reason, b.cell from battery_change b join sensor s on s.id = b.sensor_id order by s.serial, b.changed_at`,
  scales: 'select name, division_lb, elevation_ft, tolerance_percent from scale order by name',
  tickets: `select s.name, t.number, t.weighed_at, u.number, g.name, w.weight_lb, t.gross_lb
    from ticket t join scale s on s.id = t.scale_id join ticket_weight w on w.ticket_id = t.id join unit u on u.id = w.unit_id
    left join axle_group g on g.id = w.group_id order by t.weighed_at, s.name, t.number, u.number, g.name`,
  readings: `select r.name, r.taken_at, u.number, g.name, c.name, p.psi, s.name, t.number, r.elevation_ft, r.temperature_f, r.lift
    from reading r join reading_pressure p on p.reading_id = r.id join circuit c on c.id = p.circuit_id join axle_group g on g.id = c.group_id
    join unit u on u.id = g.unit_id left join ticket t on t.id = r.ticket_id left join scale s on s.id = t.scale_id
    order by r.taken_at, r.name, u.number, g.name, c.name`,
  calibrations: `select u.number, g.name, c.calibrated_at, c.calibrated_by, s.name, t.number, r.name
    from calibration c join calibration_point p on p.calibration_id = c.id join axle_group g on g.id = c.group_id join unit u on u.id = g.unit_id
    join ticket t on t.id = p.ticket_id join scale s on s.id = t.scale_id join reading r on r.id = p.reading_id
    where c.voided_at is null order by c.calibrated_at, u.number, g.name, s.name, t.number, r.name`,
  events: `select u.number, g.name, c.name, e.happened_at, e.kind, e.note
    from event e join unit u on u.id = e.unit_id left join axle_group g on g.id = e.group_id left join circuit c on c.id = e.circuit_id
    order by e.happened_at, u.number, g.name, c.name, e.kind`,
  attachments: `select s.name, t.number, a.sha256, a.media_type, a.file_name
    from ticket_attachment l join attachment a on a.sha256 = l.sha256 join ticket t on t.id = l.ticket_id join scale s on s.id = t.scale_id
    order by t.weighed_at, s.name, t.number, a.sha256`,
} as const

export interface FolderReader {
  rows(file: keyof typeof questions): IterableIterator<FolderValues>
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
    close: () => {
      if (raw.inTransaction) raw.exec('rollback')
    },
  }
}
