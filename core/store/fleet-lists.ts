import { sql } from 'kysely'
import type { Finding } from '#core/findings/finding.ts'
import type { Reader } from '#core/store/open.ts'
import { frontToBack, placedCircuits } from '#core/store/placed.ts'
import { fewWith, smallContains, wordsOf } from '#core/store/rows.ts'
import type { StoredValues } from '#core/words/change.ts'
import type { LocalDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import type { Say } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'

/** The columns of a row that a form shows. */
export const typedValues = (subject: TypedSubject, row: Readonly<Record<string, unknown>>): StoredValues =>
  Object.fromEntries(
    Object.keys(fieldsOf(subject)).map((column) => [column, (row[column] ?? null) as StoredValues[string]]),
  )

/** Yards with how many units are at home there. */
export function listYards(db: Reader) {
  return db
    .selectFrom('yard as y')
    .selectAll('y')
    .select((eb) =>
      eb
        .selectFrom('unit')
        .whereRef('unit.yard_id', '=', 'y.id')
        .select(({ fn }) => fn.countAll<number>().as('units'))
        .as('units'),
    )
    .orderBy('y.name')
    .execute()
}

export interface SensorPage {
  /** Words of a serial or of where it sits. */
  readonly text: string
  /** Only those after this serial: the last one of the page before. */
  readonly after?: string | undefined
  readonly limit: number
}

const fewSensors = (db: Reader, text: string): Promise<number[] | undefined> =>
  fewWith(text, (words, limit) => {
    let query = db.selectFrom('sensor_words').select('sensor_id as id').limit(limit)
    for (const word of words) query = query.where(smallContains(sql`words`, word))
    return query.execute()
  })

/** Sensors by serial, each with where it sits now. */
export async function listSensors(db: Reader, { text, after, limit }: SensorPage) {
  const few = await fewSensors(db, text)
  let query = db
    .selectFrom('sensor as s')
    .leftJoin('mount as m', (join) =>
      join
        .onRef('m.sensor_id', '=', 's.id')
        .on('m.removed_at', 'is', null)
        .on('m.id', '=', (eb) =>
          eb
            .selectFrom('mount as last')
            .whereRef('last.sensor_id', '=', 's.id')
            .where('last.removed_at', 'is', null)
            .select(({ fn }) => fn.max('last.id').as('id')),
        ),
    )
    .leftJoin('circuit as c', 'c.id', 'm.circuit_id')
    .leftJoin('axle_group as g', 'g.id', 'c.group_id')
    .leftJoin('unit as u', 'u.id', 'g.unit_id')
    .selectAll('s')
    .select(['u.number as unit', 'g.name as group', 'c.name as circuit', 'c.id as circuit_id', 'm.mounted_at'])
    .orderBy('s.serial')
    .limit(limit)
  if (after !== undefined) query = query.where('s.serial', '>', after)
  if (few) query = query.where('s.id', 'in', few)
  else
    for (const word of wordsOf(text))
      query = query.where(smallContains(sql`(select words from sensor_words where sensor_id = s.id)`, word))
  return await query.execute()
}

export const countSensors = async (db: Reader): Promise<number> =>
  (
    await db
      .selectFrom('sensor')
      .select(({ fn }) => fn.countAll<number>().as('sensors'))
      .executeTakeFirstOrThrow()
  ).sensors

/** A unit's axle groups from front to back, with how many valid calibrations each has. */
export function listGroupRecords(db: Reader, unitId: number) {
  return db
    .selectFrom('axle_group as g')
    .selectAll('g')
    .select((eb) =>
      eb
        .selectFrom('calibration as k')
        .whereRef('k.group_id', '=', 'g.id')
        .where('k.voided_at', 'is', null)
        .select(({ fn }) => fn.countAll<number>().as('lines'))
        .as('lines'),
    )
    .where('g.unit_id', '=', unitId)
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('g.id')
    .execute()
}

/** Every mount on a unit's circuits, newest first, with its installation record. */
export function listMountRecords(db: Reader, unitId: number) {
  return db
    .selectFrom('mount as m')
    .innerJoin('sensor as s', 's.id', 'm.sensor_id')
    .innerJoin('circuit as c', 'c.id', 'm.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .selectAll('m')
    .select(['s.serial', 's.reference', 's.range_psi', 's.accuracy_psi', 's.cell'])
    .where('g.unit_id', '=', unitId)
    .orderBy('m.mounted_at', 'desc')
    .orderBy('m.id', 'desc')
    .execute()
}

/**
 * The first reading of each circuit that no recorded sensor can have taken, by circuit: the first after its last sensor
 * went, none where one sits on it.
 */
const unseenReading = (circuit: string) =>
  sql<string | null>`(select min(r.taken_at) from reading_pressure p join reading r on r.id = p.reading_id
    where p.circuit_id = ${sql.ref(circuit)}
      and not exists (select 1 from mount m where m.circuit_id = p.circuit_id
        and (m.removed_at is null or m.removed_at >= r.taken_at)))`

/** The same of each of some circuits. */
async function unseenReadings(db: Reader, circuitIds: readonly number[]): Promise<Map<number, string | null>> {
  const rows = await db
    .selectFrom('circuit as c')
    .select(['c.id', unseenReading('c.id').as('first_read')])
    .where('c.id', 'in', circuitIds)
    .execute()
  return new Map(rows.map(({ id, first_read }) => [id, first_read]))
}

/** The same of each circuit of a unit. */
export async function listUnseenReadings(db: Reader, unitId: number): Promise<Map<number, string | null>> {
  const circuits = await placedCircuits(db).select('c.id').where('g.unit_id', '=', unitId).execute()
  return await unseenReadings(
    db,
    circuits.map(({ id }) => id),
  )
}

const mostBare = 100

/** Circuits of units in service that no sensor sits on, in the order of the units' numbers, as many as fit one form. */
export async function listBareCircuits(db: Reader, units: readonly string[] | undefined) {
  let query = placedCircuits(db)
    .select(['c.id', 'u.number as unit', 'g.name as group', 'c.name as circuit'])
    .where('u.service_state', '=', 'in service')
    .where(({ eb, not, exists }) =>
      not(
        exists(
          eb
            .selectFrom('mount')
            .select('mount.id')
            .whereRef('mount.circuit_id', '=', 'c.id')
            .where('mount.removed_at', 'is', null),
        ),
      ),
    )
    .orderBy('u.number')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('c.id')
    .limit(mostBare)
  if (units !== undefined) query = query.where('u.number', 'in', units)
  const found = await query.execute()
  const firstReads = await unseenReadings(
    db,
    found.map(({ id }) => id),
  )
  return found.map((circuit) => ({ ...circuit, first_read: firstReads.get(circuit.id) ?? null }))
}

/** Whether there is anything of each sort that a first weight needs. */
export function readFirstSteps(db: Reader) {
  const unitOf = (kinds: readonly UnitKind[]) =>
    db.selectFrom('unit').select('id').where('kind', 'in', kinds).where('service_state', '=', 'in service')
  /** The first of these units that has a line. */
  const withLine = (kinds: readonly UnitKind[]) =>
    db
      .selectFrom('unit as u')
      .select('u.number')
      .where('u.kind', 'in', kinds)
      .where(({ exists, selectFrom }) =>
        exists(
          selectFrom('axle_group as g')
            .innerJoin('calibration as k', 'k.group_id', 'g.id')
            .select('k.id')
            .whereRef('g.unit_id', '=', 'u.id')
            .where('k.voided_at', 'is', null),
        ),
      )
      .orderBy('u.number')
      .limit(1)
  return db
    .selectFrom('ledger')
    .select(({ exists, selectFrom }) => [
      exists(selectFrom('yard').select('id')).as('yard'),
      exists(selectFrom('scale').select('id')).as('scale'),
      exists(unitOf(['tractor', 'truck'])).as('lead'),
      exists(unitOf(['trailer'])).as('trailer'),
      exists(selectFrom('circuit').select('id')).as('circuit'),
      exists(selectFrom('mount').select('id').where('removed_at', 'is', null)).as('sensor'),
      exists(selectFrom('ticket').select('id')).as('ticket'),
      exists(selectFrom('calibration').select('id').where('voided_at', 'is', null)).as('line'),
      withLine(['tractor', 'truck']).as('lead_weighs'),
      withLine(['trailer']).as('trailer_weighs'),
    ])
    .executeTakeFirstOrThrow()
}

/** Numbers that are taken, of units. */
export const unitNumbers = async (db: Reader): Promise<Set<string>> =>
  new Set((await db.selectFrom('unit').select('number').execute()).map(({ number }) => number))

export const countUnits = async (db: Reader): Promise<number> =>
  (
    await db
      .selectFrom('unit')
      .select(({ fn }) => fn.countAll<number>().as('units'))
      .executeTakeFirstOrThrow()
  ).units

/** How many units are retired, and the first of them by number. */
export async function listRetired(db: Reader, limit: number): Promise<{ units: number; first: string[] }> {
  const retired = db.selectFrom('unit').where('service_state', '=', 'retired')
  const { units } = await retired.select(({ fn }) => fn.countAll<number>().as('units')).executeTakeFirstOrThrow()
  const first = await retired.select('number').orderBy('number').limit(limit).execute()
  return { units, first: first.map(({ number }) => number) }
}

/** A finding under the names people use, as the command line's format has it. */
export interface NamedFinding {
  readonly unit: string | null
  readonly group: string | null
  readonly circuit: string | null
  readonly scale: string | null
  readonly ticket: string | null
  readonly code: string
  readonly severity: string
  readonly since: string | null
  readonly numbers: Finding['numbers']
  readonly message: string
  readonly next_step: string
}

const distinct = (ids: readonly (number | null)[]): number[] => [...new Set(ids.filter((id) => id !== null))]

/** SQLite takes some 32,000 values a statement: names of more are asked for in slices. */
async function named(
  ids: readonly number[],
  ask: (slice: number[]) => Promise<readonly { id: number; name: string }[]>,
): Promise<Map<number, string>> {
  const names = new Map<number, string>()
  for (let start = 0; start < ids.length; start += 20_000) {
    for (const { id, name } of await ask(ids.slice(start, start + 20_000))) names.set(id, name)
  }
  return names
}

/** Puts names to the ids of findings and says them: five questions, however many findings. */
export async function nameFindings(db: Reader, findings: readonly Finding[], say: Say): Promise<NamedFinding[]> {
  const units = await named(distinct(findings.map((f) => f.unitId)), (ids) =>
    db.selectFrom('unit').select(['id', 'number as name']).where('id', 'in', ids).execute(),
  )
  const groups = await named(distinct(findings.map((f) => f.groupId)), (ids) =>
    db.selectFrom('axle_group').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const circuits = await named(distinct(findings.map((f) => f.circuitId)), (ids) =>
    db.selectFrom('circuit').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const scales = await named(distinct(findings.map((f) => f.scaleId)), (ids) =>
    db.selectFrom('scale').select(['id', 'name']).where('id', 'in', ids).execute(),
  )
  const tickets = await named(distinct(findings.map((f) => f.ticketId)), (ids) =>
    db.selectFrom('ticket').select(['id', 'number as name']).where('id', 'in', ids).execute(),
  )
  const nameOf = (names: Map<number, string>, id: number | null) => (id === null ? null : (names.get(id) ?? null))
  return findings.map((finding) => {
    const { message, nextStep } = sayFinding(finding, say)
    return {
      unit: nameOf(units, finding.unitId),
      group: nameOf(groups, finding.groupId),
      circuit: nameOf(circuits, finding.circuitId),
      scale: nameOf(scales, finding.scaleId),
      ticket: nameOf(tickets, finding.ticketId),
      code: finding.code,
      severity: finding.severity,
      since: finding.since === null ? null : toStoredInstant(finding.since),
      numbers: finding.numbers,
      message,
      next_step: nextStep,
    }
  })
}

/** Units in service, some of them by their ids or numbers, with how many of their groups have a circuit, by number. */
export function listPickUnits(
  db: Reader,
  { unitIds, numbers }: { readonly unitIds: readonly number[]; readonly numbers: readonly string[] },
) {
  return db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select((eb) => [
      'u.id',
      'u.number',
      'u.kind',
      'y.name as yard',
      eb
        .selectFrom('axle_group as g')
        .whereRef('g.unit_id', '=', 'u.id')
        .select(({ fn }) => fn.countAll<number>().as('groups'))
        .as('groups'),
      eb
        .selectFrom('axle_group as g')
        .innerJoin('circuit as c', 'c.group_id', 'g.id')
        .whereRef('g.unit_id', '=', 'u.id')
        .select(({ fn }) => fn.count<number>('g.id').distinct().as('sensed'))
        .as('sensed'),
    ])
    .where('u.service_state', '=', 'in service')
    .where(({ eb, or }) => or([eb('u.id', 'in', unitIds), eb('u.number', 'in', numbers)]))
    .orderBy('u.number')
    .execute()
}

/**
 * The weighing up to today that each of some units last led a combination in, and its day; null where there is none.
 */
export function listLastLed(db: Reader, unitIds: readonly number[], today: LocalDay) {
  return db
    .selectFrom('unit as u')
    .where('u.kind', '!=', 'trailer')
    .where('u.id', 'in', unitIds)
    .select((eb) => {
      // Half of all rows lead, so it is by the unit that they are found.
      const led = eb
        .selectFrom('weighed_unit as w')
        .whereRef('w.unit_id', '=', 'u.id')
        .where(sql<number>`+w.leads`, '=', 1)
        .where('w.weighed_on', '<=', today)
        .orderBy('w.weighed_on', 'desc')
        .orderBy('w.weighing', 'desc')
        .limit(1)
      return ['u.id as unit_id', led.select('w.weighing').as('weighing'), led.select('w.weighed_on').as('weighed_on')]
    })
    .execute()
}

/** The yard of a name, or undefined. */
export function findYard(db: Reader, name: string) {
  return db.selectFrom('yard').selectAll().where('name', '=', name).executeTakeFirst()
}
