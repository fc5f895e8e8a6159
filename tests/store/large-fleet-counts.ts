import type { Store } from '#core/store/open.ts'

/** What SQLite counted in a fleet of 10,000 units and 1,000,000 rows of readings, and a log of some years of work. */
const counts: readonly (readonly [table: string, index: string | null, counted: string])[] = [
  ['axle_group', 'sqlite_autoindex_axle_group_1', '25000 3 1'],
  ['battery_change', 'sqlite_autoindex_battery_change_1', '26250 1 1'],
  ['calibration', 'calibration_by_group', '75000 3 1'],
  ['calibration', 'one_valid_calibration_of_a_time', '75000 3 1'],
  ['calibration_point', 'calibration_point', '262105 4 1 1'],
  ['calibration_point', 'calibration_point_by_reading', '262105 5'],
  ['calibration_point', 'calibration_point_by_ticket', '262105 5'],
  ['change_log', 'change_log_by_record', '200000 2 1'],
  ['change_log', 'change_log_by_revision', '200000 1'],
  ['change_log', 'change_log_by_unit', '200000 20 1'],
  ['circuit', 'sqlite_autoindex_circuit_1', '26250 1 1'],
  ['finding', 'finding_by_code', '6148 205 2'],
  ['finding', 'finding_by_scale', '57 12'],
  ['finding', 'finding_by_unit', '6148 2'],
  ['group_standing', 'group_standing_in_short', '25000 3 2 2 1'],
  ['heavy', 'heavy_by_time', '205228 102614 2 2 2 1'],
  ['heavy', 'heavy_by_unit', '205228 40 3'],
  ['heavy', 'heavy_by_weighing', '205228 3'],
  ['heavy', 'heavy_counted', '205228 102614 21 21 12 12 10 1 1'],
  ['mount', 'mount_by_circuit', '26250 1 1'],
  ['mount', 'sqlite_autoindex_mount_1', '26250 1 1 1'],
  ['reading', 'reading_by_ticket', '179538 1'],
  ['reading', 'reading_by_time', '190476 2'],
  ['reading', 'sqlite_autoindex_reading_1', '190476 1'],
  ['reading_pressure', 'reading_pressure', '999999 6 1'],
  ['reading_pressure', 'reading_pressure_by_circuit', '999999 39'],
  ['roster_line', 'roster_line_by_age', '10000 1 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_cell', '10000 1 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_due_day', '10000 63 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_finding', '10000 2500 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_model', '10000 5000 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_number', '10000 1 1 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_uncertainty', '10000 84 1 1 1 1 1 1'],
  ['roster_line', 'roster_line_by_yard', '10000 2500 1 1 1 1 1'],
  ['roster_line', 'roster_line_counted', '10000 2500 2500 1250 313'],
  ['roster_line', 'roster_line_worst_first', '10000 10000 2500 625 7 6 1 1 1 1 1 1'],
  ['scale', 'sqlite_autoindex_scale_1', '6 1'],
  ['sensor', 'sqlite_autoindex_sensor_1', '26250 1'],
  ['ticket', 'sqlite_autoindex_ticket_1', '179538 29923 1'],
  ['ticket', 'ticket_by_time', '179538 2'],
  ['ticket_weight', 'one_weight_of_a_group', '897690 5 3 1'],
  ['ticket_weight', 'ticket_weight_by_group', '897690 36'],
  ['ticket_weight', 'ticket_weight_by_unit', '897690 90'],
  ['unit', 'sqlite_autoindex_unit_1', '10000 1'],
  ['unit', 'unit_by_yard', '10000 2500'],
  ['weighed_unit', 'weighed_unit', '380952 2 1'],
  ['weighed_unit', 'weighed_unit_by_day', '380952 190476 179 2 2 2 2'],
  ['weighed_unit', 'weighed_unit_by_unit', '380952 39 2 2 2 2 2'],
  ['yard', 'sqlite_autoindex_yard_1', '4 1'],
  ['change_unit', 'change_unit', '400000 40 1'],
  ['change_unit', 'change_unit_by_change', '400000 2'],
]

/** Has a store plan its questions as if it held that fleet. */
export function planAsForLargeFleet({ raw }: Store): void {
  raw.exec('analyze')
  raw.exec('delete from sqlite_stat1')
  const insert = raw.prepare('insert into sqlite_stat1 (tbl, idx, stat) values (?, ?, ?)')
  for (const row of counts) insert.run(row)
  raw.exec('analyze sqlite_schema')
}

/** Has it plan them as for a file that was never looked over. */
export function planWithoutCounts({ raw }: Store): void {
  raw.exec('analyze')
  raw.exec('delete from sqlite_stat1')
  raw.exec('analyze sqlite_schema')
}
