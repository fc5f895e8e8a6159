import { judgeWholeFleet } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { readBooks, readFigures } from '#core/store/books.ts'
import { timeNow } from '#core/store/clock.ts'
import type { Store } from '#core/store/open.ts'
import { weighWholeFleet } from '#core/store/weighings.ts'
import { toStoredInstant } from '#core/words/instant.ts'

const text = (rows: readonly object[]): string[] => rows.map((row) => JSON.stringify(row)).sort()

/** The moment whose day it is by the program's clock: what is dated after it does not count yet. */
const momentNow = async ({ db }: Store): Promise<number> => judgedAt(timeNow(), (await readBooks(db)).zone)

const dated = {
  ticket: 'weighed_at',
  reading: 'taken_at',
  calibration: 'calibrated_at',
  event: 'happened_at',
  mount: 'mounted_at',
  battery_change: 'changed_at',
} as const

/** How much of the record is dated after the moment whose day it is. */
export async function countAhead(store: Store): Promise<number> {
  const until = toStoredInstant(await momentNow(store))
  return Object.entries(dated).reduce(
    (sum, [table, column]) =>
      sum + Number(store.raw.prepare(`select count(*) from ${table} where ${column} > ?`).pluck().get(until)),
    0,
  )
}

/** Takes everything out of the record that is dated after a moment (stored instant). */
function dropAhead({ raw }: Store, until: string): void {
  raw.pragma('defer_foreign_keys = on')
  // Calibrations are never deleted, but here, where all is rolled back.
  const kept = raw.prepare("select name from sqlite_schema where type = 'trigger' and sql like '%never deleted%'")
  for (const name of kept.pluck().all()) raw.exec(`drop trigger ${String(name)}`)
  // A reading of a ticket counts with it.
  raw.prepare('delete from reading where ticket_id in (select id from ticket where weighed_at > ?)').run(until)
  for (const [table, column] of Object.entries(dated))
    raw.prepare(`delete from ${table} where ${column} > ?`).run(until)
  for (const [rows, of] of [
    ['ticket_weight', 'ticket'],
    ['ticket_together', 'ticket'],
    ['calibration_point', 'ticket'],
    ['reading_pressure', 'reading'],
    ['reading_unit', 'reading'],
    ['calibration_point', 'reading'],
    ['calibration_point', 'calibration'],
  ] as const)
    raw.exec(`delete from ${rows} where ${of}_id not in (select id from ${of})`)
}

/**
 * Everything that is stored of what follows from the record, without ids that the order of writing gives: what counts
 * by now, and the weights of weighings that are dated ahead.
 */
export async function storedOutcome(store: Store) {
  const { db } = store
  const findings = await db.selectFrom('finding').selectAll().execute()
  const heavy = await db.selectFrom('heavy').selectAll().execute()
  const weighings = await db.selectFrom('weighed_unit').selectAll().execute()
  const until = toStoredInstant(await momentNow(store))
  const ticketsAhead = db.selectFrom('ticket').select('id').where('weighed_at', '>', until)
  const readingsAhead = db
    .selectFrom('reading')
    .select('id')
    .where('taken_at', '>', until)
    .where('ticket_id', 'is', null)
  const ahead = new Set([
    ...(await ticketsAhead.execute()).map(({ id }) => 2 * id + 1),
    ...(await readingsAhead.execute()).map(({ id }) => 2 * id),
  ])
  const withoutIds = heavy.map(({ id: _, ...row }) => row)
  const isAhead = ({ weighing }: { readonly weighing: number }) => ahead.has(weighing)
  const isCounted = (row: { readonly weighing: number }) => !isAhead(row)
  return {
    counted: {
      standings: text(await db.selectFrom('group_standing').selectAll().execute()),
      findings: text(findings.map(({ id: _, ...row }) => row)),
      heavy: text(withoutIds.filter(isCounted)),
      weighings: text(weighings.filter(isCounted)),
    },
    ahead: { heavy: text(withoutIds.filter(isAhead)), weighings: text(weighings.filter(isAhead)) },
  }
}

/**
 * What judging and weighing the whole record anew gives, with the figures that the fleet has taught and for the day
 * that it is; or the record without all that is dated after it. Inside the caller's transaction, which is left as it was.
 */
export async function judgedAnew(
  store: Store,
  of: 'the whole record' | 'what is not dated ahead',
): ReturnType<typeof storedOutcome> {
  const { db, raw } = store
  const learnt = await readFigures(db)
  if (!learnt) throw new Error('a fleet that was never judged is not current')
  const asOf = await momentNow(store)
  raw.exec('savepoint anew')
  try {
    if (of === 'what is not dated ahead') dropAhead(store, toStoredInstant(asOf))
    // Weights are made in place of the stored ones, which hold what was said of them before.
    for (const name of ['group_standing', 'finding', 'judged_with']) raw.exec(`delete from ${name}`)
    await judgeWholeFleet(store, learnt.figures, asOf)
    await weighWholeFleet(store, asOf)
    return await storedOutcome(store)
  } finally {
    raw.exec('rollback to anew; release anew')
  }
}

const rounded = (value: unknown): unknown => (typeof value === 'number' ? Number(value.toPrecision(9)) : value)

/** A row in the words that people use, its numbers to nine digits: as it must be in whichever file. */
const told = (row: object): string =>
  JSON.stringify(Object.fromEntries(Object.entries(row).map(([key, value]) => [key, rounded(value)])))

/**
 * What is stored of what follows from the record under the names that people use, without what a fleet folder does not
 * hold: cells of retired units.
 */
export async function namedOutcome({ db }: Store) {
  const standings = await db
    .selectFrom('group_standing as s')
    .innerJoin('axle_group as g', 'g.id', 's.group_id')
    .innerJoin('unit as u', 'u.id', 's.unit_id')
    .select([
      'u.number',
      'g.name',
      's.trust',
      's.calibrated_at',
      's.due_on',
      's.a',
      's.b',
      's.u_a',
      's.u_b',
      's.u_limit_lb',
    ])
    // Its scales go by ids, which another file has others of.
    .select(({ fn, val }) => fn<number | null>('json_extract', ['s.weigh_next', val('$.uNowLb')]).as('u_now_lb'))
    .execute()
  const findings = await db
    .selectFrom('finding as f')
    .leftJoin('unit as u', 'u.id', 'f.unit_id')
    .leftJoin('axle_group as g', 'g.id', 'f.group_id')
    .leftJoin('circuit as c', 'c.id', 'f.circuit_id')
    .leftJoin('scale as s', 's.id', 'f.scale_id')
    .leftJoin('ticket as t', 't.id', 'f.ticket_id')
    .select(['u.number as unit', 'g.name as group', 'c.name as circuit', 's.name as scale', 't.number as ticket'])
    .select(['f.code', 'f.severity', 'f.since', 'f.variant', 'f.facts'])
    .where('f.code', 'not like', 'battery%')
    .execute()
  const heavy = await db
    .selectFrom('heavy as h')
    .innerJoin('unit as u', 'u.id', 'h.unit_id')
    .innerJoin('unit as l', 'l.id', 'h.lead_unit_id')
    .leftJoin('axle_group as g', 'g.id', 'h.group_id')
    .leftJoin('reading as r', 'r.id', 'h.reading_id')
    .leftJoin('ticket as t', 't.id', 'h.ticket_id')
    .select(['u.number as unit', 'l.number as lead', 'g.name as group', 'r.name as reading', 't.number as ticket'])
    .select(['h.source', 'h.superseded', 'h.weighed_at', 'h.limit_kind', 'h.first_axle', 'h.last_axle'])
    .select(['h.weight_lb', 'h.u_lb', 'h.limit_lb', 'h.p_over', 'h.verdict'])
    // What only stands because something else was said of it once is not in a new file.
    .where((eb) =>
      eb.or([
        eb('h.said_verdict', 'is', null),
        eb('h.line_verdict', '!=', 'under'),
        eb.and([eb('h.verdict', '!=', 'under'), eb('h.p_over', '>=', 0.001)]),
      ]),
    )
    .execute()
  return {
    standings: standings.map(told).sort(),
    findings: findings.map(({ facts, ...found }) => told({ ...found, facts: told(JSON.parse(facts)) })).sort(),
    heavy: heavy.map(told).sort(),
  }
}
