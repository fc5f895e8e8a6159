import type { Store } from '#core/store/open.ts'

/**
 * Fills the tables that lists are read from with so many units, two and a half sensed groups each, in SQL: what they
 * say does not matter here, only how many there are and that they differ.
 */
export function insertListedFleet({ raw }: Store, units: number): void {
  const groups = 2.5 * units
  const count = (rows: number, insert: string) =>
    raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${rows}) ${insert}`)
  const pick = (key: string, ...of: readonly string[]) =>
    `case ${key} % ${of.length} ${of.map((value, at) => `when ${at} then ${value}`).join(' ')} end`
  const at = (seconds: number) => `strftime('%Y-%m-%dT%H:%M:%S.000Z', 1700000000 + ${seconds} * i, 'unixepoch')`
  raw.exec('begin')
  raw.exec("insert into yard (id, name) values (1, 'Alder Flat'), (2, 'Bracken'), (3, 'Copper Sill'), (4, 'Drover')")
  count(
    units,
    `insert into unit (id, number, kind, make, model, model_year, yard_id) select i, iif(i % 2, 'T', 'V') || i,
      iif(i % 2, 'tractor', 'trailer'), iif(i % 2, 'Brennock', 'Quillmarch'), iif(i % 2, 'R8', 'Twin'), 2014 + i % 12, 1 + i / 2 % 4 from n`,
  )
  count(
    groups,
    `insert into axle_group (id, unit_id, name, role, axles) select i, 1 + (i - 1) * 2 / 5, 'group ' || i, 'drive', 2 from n`,
  )
  count(groups, "insert into circuit (id, group_id, name) select i, i, 'main' from n")
  count(groups, "insert into sensor (id, serial, reference) select i, 'S' || i, 'gauge' from n")
  count(groups, `insert into mount (sensor_id, circuit_id, mounted_at) select i, i, ${at(1)} from n`)
  count(groups, `insert into battery_change (sensor_id, changed_at) select i, ${at(61)} from n`)
  const trust = pick('i', "'sound'", "'due soon'", "'sound'", "'overdue'", "'sound'", "'doubtful'", "'uncalibrated'")
  count(
    groups,
    `insert into group_standing (group_id, unit_id, trust, calibrated_at, due_on, u_limit_lb) select i,
      1 + (i - 1) * 2 / 5, ${trust}, ${at(97)}, date('2026-06-01', (i % 400) || ' days'), 100 + i * 7919 % 300 from n`,
  )
  count(
    groups / 4,
    `insert into finding (unit_id, group_id, code, severity, numbers, variant, facts) select 1 + (4 * i - 1) * 2 / 5, 4 * i,
      ${pick('i', "'short-span'", "'age-near-limit'", "'checks-drifting'")}, 'warn', '{}', 'top', '{}' from n`,
  )
  raw.exec('commit; analyze')
}
