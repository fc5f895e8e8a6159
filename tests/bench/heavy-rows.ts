import type { Store } from '#core/store/open.ts'

export const heavyUnits = 2000
/** Weighings of the log: each has two units, and a heavy row of a group; every third also one of gross. */
export const heavyWeighings = 1_000_000

/**
 * Fills the tables of the Heavy Log with a million weighings over three years, in SQL: what they say does not matter
 * here, only how many there are. Readings stand for their weighings so that names and notes have something to be found
 * in.
 */
export function insertHeavyRows({ raw }: Store): void {
  const count = (rows: number, insert: string) =>
    raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${rows}) ${insert}`)
  const at = "strftime('%Y-%m-%dT%H:%M:%S.000Z', 1700000000 + 90 * i, 'unixepoch')"
  raw.exec('begin')
  raw.exec("insert into yard (id, name) values (1, 'Alder Flat'), (2, 'Bracken'), (3, 'Copper Sill'), (4, 'Drover')")
  count(
    heavyUnits,
    "insert into unit (id, number, kind, yard_id) select i, 'U' || i, iif(i % 2 = 1, 'tractor', 'trailer'), 1 + i / 2 % 4 from n",
  )
  count(
    heavyUnits,
    "insert into axle_group (id, unit_id, name, role, axles) select i, i, 'group', iif(i % 2 = 1, 'drive', 'trailer'), 2 from n",
  )
  count(heavyWeighings, `insert into reading (id, name, taken_at) select i, 'R' || i, ${at} from n`)
  for (const [leads, side] of [
    [1, 1],
    [0, 2],
  ]) {
    count(
      heavyWeighings,
      `insert into weighed_unit select 2 * i, 2 * (i % ${heavyUnits / 2}) + ${side}, substr(${at}, 1, 10), ${leads}, iif(i % 2 = 0, 2, 1), iif(i % 3 = 0, 2, 0), 0 from n`,
    )
  }
  const columns =
    'weighing, source, superseded, reading_id, weighed_at, unit_id, lead_unit_id, limit_kind, group_id, weight_lb, u_lb, limit_lb, over_lb, p_over, verdict'
  const unit = `2 * (i % ${heavyUnits / 2}) + 1`
  const weights = '34000 + i * 7919 % 4000, 200, 34000, i * 7919 % 4000, 0.99'
  count(
    heavyWeighings,
    `insert into heavy (${columns}) select 2 * i, 'onboard', i % 5 = 0, i, ${at}, ${unit}, ${unit}, 'group', ${unit}, ${weights}, iif(i % 2 = 0, 'over', 'too close to call') from n`,
  )
  count(
    Math.floor(heavyWeighings / 3),
    `insert into heavy (${columns}) select 6 * i, 'onboard', 0, 3 * i, ${at.replace('90 * i', '270 * i')}, ${unit}, ${unit}, 'gross', null, ${weights}, 'over' from n`,
  )
  raw.exec('commit; analyze')
}
