import { judgeWholeFleet } from '#core/store/assessment.ts'
import { readBooks, readFigures } from '#core/store/books.ts'
import type { Store } from '#core/store/open.ts'
import { weighWholeFleet } from '#core/store/weighings.ts'

const text = (rows: readonly object[]): string[] => rows.map((row) => JSON.stringify(row)).sort()

/** Everything that is stored of what follows from the record, without ids that the order of writing gives. */
export async function storedOutcome({ db }: Store) {
  const findings = await db.selectFrom('finding').selectAll().execute()
  const heavy = await db.selectFrom('heavy').selectAll().execute()
  return {
    standings: text(await db.selectFrom('group_standing').selectAll().execute()),
    findings: text(findings.map(({ id: _, ...row }) => row)),
    heavy: text(heavy.map(({ id: _, ...row }) => row)),
    weighings: text(await db.selectFrom('weighed_unit').selectAll().execute()),
  }
}

/**
 * What judging and weighing the whole record anew gives, with the figures that the fleet has taught and for the moment
 * that the stored judgements are of. The file is left as it was.
 */
export async function judgedAnew(store: Store): ReturnType<typeof storedOutcome> {
  const { db, raw } = store
  const learnt = await readFigures(db)
  const { judgedFor } = await readBooks(db)
  if (!learnt || judgedFor === null) throw new Error('a fleet that was never judged is not current')
  raw.exec('begin immediate')
  try {
    // Weights are made in place of the stored ones, which hold what was said of them before.
    for (const name of ['group_standing', 'finding', 'judged_with']) raw.exec(`delete from ${name}`)
    await judgeWholeFleet(store, learnt.figures, judgedFor)
    await weighWholeFleet(store)
    return await storedOutcome(store)
  } finally {
    raw.exec('rollback')
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
