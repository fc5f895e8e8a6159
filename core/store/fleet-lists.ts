import { sql } from 'kysely'
import type { StoredValues } from '#core/fleet/change.ts'
import { fieldsOf, type TypedSubject } from '#core/fleet/record-fields.ts'
import type { Reader } from '#core/store/open.ts'
import { containsWord, wordsOf } from '#core/store/search-text.ts'

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

/** Sensors by serial, each with where it sits now. */
export function listSensors(db: Reader, { text, after, limit }: SensorPage) {
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
  for (const word of wordsOf(text))
    query = query.where(containsWord(sql<string>`concat_ws(' ', s.serial, u.number, g.name, c.name)`, word))
  return query.execute()
}

export const countSensors = async (db: Reader): Promise<number> =>
  (
    await db
      .selectFrom('sensor')
      .select(({ fn }) => fn.countAll<number>().as('sensors'))
      .executeTakeFirstOrThrow()
  ).sensors

/** Axle groups of a unit with how many valid calibrations each has. */
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
    .orderBy('g.first_axle_ft')
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

/** Numbers that are taken, of units. */
export const unitNumbers = async (db: Reader): Promise<Set<string>> =>
  new Set((await db.selectFrom('unit').select('number').execute()).map(({ number }) => number))

/** Every unit by number. */
export function listUnits(db: Reader) {
  return db.selectFrom('unit').select(['number', 'kind', 'service_state']).orderBy('number').execute()
}
