import type { Reader, Writer } from '#core/store/open.ts'
import { besideUnits } from '#core/store/reading-units.ts'
import type { Schema } from '#core/store/schema.ts'
import type { Change, ChangeSubject } from '#core/words/change.ts'
import { type FleetWork, type TouchKind, changesAxles, fleetWorkOf, touchedBy } from '#core/words/touch.ts'

type Ids = Promise<{ unit_id: number }[]>

const groupsOf = (db: Reader) => db.selectFrom('axle_group as g').select('g.unit_id').distinct()

const circuitsOf = (db: Reader) => groupsOf(db).innerJoin('circuit as c', 'c.group_id', 'g.id')

const mountsOf = (db: Reader) => circuitsOf(db).innerJoin('mount as m', 'm.circuit_id', 'c.id')

const readingsOf = (db: Reader) => circuitsOf(db).innerJoin('reading_pressure as p', 'p.circuit_id', 'c.id')

/** The units of a ticket: those it names, and those that its readings read. */
async function unitsOfTicket(db: Reader, id: number): Ids {
  const named = await db.selectFrom('ticket_weight').select('unit_id').distinct().where('ticket_id', '=', id).execute()
  const read = await readingsOf(db)
    .innerJoin('reading as r', 'r.id', 'p.reading_id')
    .where('r.ticket_id', '=', id)
    .execute()
  return [...named, ...read]
}

async function unitsOfReading(db: Reader, id: number): Ids {
  const read = await readingsOf(db).where('p.reading_id', '=', id).execute()
  const unread = await db.selectFrom('reading_unit').select('unit_id').where('reading_id', '=', id).execute()
  const own = [...read, ...unread]
  const reading = await db.selectFrom('reading').select('ticket_id').where('id', '=', id).executeTakeFirst()
  return reading?.ticket_id == null ? own : [...own, ...(await unitsOfTicket(db, reading.ticket_id))]
}

/** The readings without an elevation of their own in which some units stood. */
const unplacedReadingsOf = (db: Reader, unitIds: readonly number[]) =>
  db
    .selectFrom('reading as r')
    .select('r.id')
    .where('r.elevation_ft', 'is', null)
    .where(({ eb, or }) =>
      or([
        eb('r.id', 'in', readingsOf(db).clearSelect().select('p.reading_id').where('g.unit_id', 'in', unitIds)),
        eb('r.id', 'in', db.selectFrom('reading_unit').select('reading_id').where('unit_id', 'in', unitIds)),
        eb('r.ticket_id', 'in', db.selectFrom('ticket_weight').select('ticket_id').where('unit_id', 'in', unitIds)),
      ]),
    )

/** Some units with those whose readings may take their elevation from the yard of one of them, at the head. */
async function withTowed(db: Reader, own: Awaited<Ids>): Ids {
  const unitIds = own.map(({ unit_id }) => unit_id)
  const towed = await readingsOf(db).where('p.reading_id', 'in', unplacedReadingsOf(db, unitIds)).execute()
  return [...own, ...towed]
}

/** The units whose lines, weights or cells a record of a subject has a part in, by its id. */
const unitsOf: Partial<Record<ChangeSubject, (db: Reader, id: number) => Ids>> = {
  unit: (db, id) => withTowed(db, [{ unit_id: id }]),
  'axle group': (db, id) => groupsOf(db).where('g.id', '=', id).execute(),
  circuit: (db, id) => circuitsOf(db).where('c.id', '=', id).execute(),
  sensor: (db, id) => mountsOf(db).where('m.sensor_id', '=', id).execute(),
  mount: (db, id) => mountsOf(db).where('m.id', '=', id).execute(),
  battery: (db, id) =>
    mountsOf(db).innerJoin('battery_change as b', 'b.sensor_id', 'm.sensor_id').where('b.id', '=', id).execute(),
  event: (db, id) => db.selectFrom('event').select('unit_id').where('id', '=', id).execute(),
  calibration: (db, id) =>
    groupsOf(db).innerJoin('calibration as k', 'k.group_id', 'g.id').where('k.id', '=', id).execute(),
  ticket: unitsOfTicket,
  reading: unitsOfReading,
  // A scale's elevation and tolerance are in the lines of all that stood on it, a yard's elevation in those of what the
  // units at home there tow.
  scale: (db, id) =>
    db
      .selectFrom('ticket as t')
      .innerJoin('ticket_weight as w', 'w.ticket_id', 't.id')
      .select('w.unit_id')
      .distinct()
      .where('t.scale_id', '=', id)
      .execute(),
  yard: async (db, id) =>
    withTowed(db, await db.selectFrom('unit').select('id as unit_id').where('yard_id', '=', id).execute()),
  'planned visit': (db, id) => db.selectFrom('planned_visit').select('unit_id').where('id', '=', id).execute(),
}

/** Subjects that belong to no unit, however many they touch: the log does not list them under units. */
const ofNoUnit: ReadonlySet<ChangeSubject> = new Set(['scale', 'yard'])

/** A change with what it touches. */
export interface TouchedChange {
  readonly change: Change
  readonly kinds: readonly TouchKind[]
  /** Units under which the log lists it. */
  readonly unitIds: readonly number[]
}

interface Touched {
  readonly changes: readonly TouchedChange[]
  readonly kinds: ReadonlySet<TouchKind>
  readonly fleet: ReadonlySet<FleetWork>
  readonly judge: ReadonlySet<number>
  readonly weigh: ReadonlySet<number>
  /** Readings that came in without a ticket: they change no other weight. */
  readonly readings: readonly number[]
}

/** A reading without a ticket that has come in is judged with its unit, but weighed by itself. */
async function isLoneReading(db: Reader, { subject, action, recordId }: Change): Promise<boolean> {
  if (subject !== 'reading' || action !== 'added' || recordId === undefined) return false
  const reading = await db.selectFrom('reading').select('ticket_id').where('id', '=', recordId).executeTakeFirst()
  return reading?.ticket_id === null
}

/** Looks up, inside the writer's transaction and after its writes, everything that changes touch. */
export async function lookUpTouched(db: Reader, changes: readonly Change[]): Promise<Touched> {
  const touched: TouchedChange[] = []
  const kinds = new Set<TouchKind>()
  const judge = new Set<number>()
  const weigh = new Set<number>()
  const readings: number[] = []
  const fleet = new Set<FleetWork>()
  for (const change of changes) {
    const { subject, recordId, unitId, unitIds = [] } = change
    const own = touchedBy(change)
    for (const kind of own) kinds.add(kind)
    for (const work of fleetWorkOf(change)) fleet.add(work)
    const found = recordId === undefined ? [] : ((await unitsOf[subject]?.(db, recordId)) ?? [])
    const units = new Set([...(unitId === null ? [] : [unitId]), ...unitIds, ...found.map(({ unit_id }) => unit_id)])
    if (changesAxles(change)) for (const { unit_id } of await besideUnits(db, [...units]).execute()) units.add(unit_id)
    touched.push({ change, kinds: own, unitIds: ofNoUnit.has(subject) ? [] : [...units] })
    const lone = await isLoneReading(db, change)
    if (lone && recordId !== undefined) readings.push(recordId)
    for (const unit of units) {
      if (own.includes('lines') || own.includes('cells')) judge.add(unit)
      if (own.includes('weights') && !lone) weigh.add(unit)
    }
  }
  return { changes: touched, kinds, fleet, judge, weigh, readings }
}

/** The number of a weighing: odd for a ticket with its readings, even for a reading without a ticket. */
export const weighingOfTicket = (ticketId: number): number => 2 * ticketId + 1
export const weighingOfReading = (readingId: number): number => 2 * readingId

/** The ledger's columns for what was touched at a revision. */
export const touchedColumns = (kinds: Iterable<TouchKind>, revision: number): Partial<Schema['ledger']> =>
  Object.fromEntries(Array.from(kinds, (kind) => [`${kind}_revision`, revision]))

const rowsAtOnce = 5000

/** Notes what is behind the record from a revision on, until it is judged and weighed again. */
export async function markBehind(
  db: Writer,
  { fleet, judge, weigh, readings }: Omit<Touched, 'changes' | 'kinds'>,
  revision: number,
): Promise<void> {
  if (fleet.size > 0)
    await db
      .insertInto('behind_fleet')
      .values([...fleet].map((what) => ({ what, since: revision })))
      .onConflict((conflict) => conflict.column('what').doUpdateSet({ since: revision }))
      .execute()
  const units = [...new Set([...judge, ...weigh])].map((unit_id) => ({
    unit_id,
    judge_since: judge.has(unit_id) ? revision : null,
    weigh_since: weigh.has(unit_id) ? revision : null,
  }))
  for (let from = 0; from < units.length; from += rowsAtOnce) {
    await db
      .insertInto('behind_unit')
      .values(units.slice(from, from + rowsAtOnce))
      .onConflict((conflict) =>
        conflict.column('unit_id').doUpdateSet(({ fn, ref }) => ({
          judge_since: fn.coalesce(ref('excluded.judge_since'), ref('behind_unit.judge_since')),
          weigh_since: fn.coalesce(ref('excluded.weigh_since'), ref('behind_unit.weigh_since')),
        })),
      )
      .execute()
  }
  if (readings.length > 0)
    await db
      .insertInto('behind_weighing')
      .values(readings.map((id) => ({ weighing: weighingOfReading(id), since: revision })))
      .onConflict((conflict) => conflict.column('weighing').doUpdateSet({ since: revision }))
      .execute()
}
