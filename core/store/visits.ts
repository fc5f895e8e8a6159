import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Store, Writer } from '#core/store/open.ts'
import { walk } from '#core/store/rows.ts'
import type { Change } from '#core/words/change.ts'
import { type LocalDay, dayOf, startOfDay, storedDay } from '#core/words/day.ts'

/**
 * The next planned visit of each unit after the day of `asOf` (ms UTC) in the fleet's zone, as the beginning of its
 * day: on a visit's own day the one after it counts.
 */
export function nextVisits({ db, raw }: Store, asOf: number, zone: string): Map<number, number> {
  const query = db
    .selectFrom('planned_visit')
    .select(['unit_id', ({ fn }) => fn.min('visit_on').as('next')])
    .where('visit_on', '>', dayOf(asOf, zone))
    .groupBy('unit_id')
  return new Map(
    Array.from(walk<[number, string]>(raw, query), ([unitId, day]) => [unitId, startOfDay(storedDay(day), zone)]),
  )
}

const plannedFrom = (db: Reader, from: LocalDay) =>
  db
    .selectFrom('planned_visit as v')
    .innerJoin('unit as u', 'u.id', 'v.unit_id')
    .leftJoin('yard as y', 'y.id', 'v.yard_id')
    .select(['v.id', 'v.unit_id', 'u.number as unit', 'v.yard_id', 'y.name as yard', 'v.visit_on'])
    .where('v.visit_on', '>=', from)
    .orderBy('v.visit_on')
    .orderBy('u.number')

/** Planned visits from a day on, by day, under the names people use. */
export const listPlannedVisits = (db: Reader, from: LocalDay) => plannedFrom(db, from).execute()

/** A page of them, and how many there are. */
export async function readPlannedVisits(
  db: Reader,
  from: LocalDay,
  { offset, limit }: { readonly offset: number; readonly limit: number },
) {
  const { total } = await db
    .selectFrom('planned_visit')
    .select(({ fn }) => fn.countAll<number>().as('total'))
    .where('visit_on', '>=', from)
    .executeTakeFirstOrThrow()
  return { total, rows: await plannedFrom(db, from).limit(limit).offset(offset).execute() }
}

export interface VisitToPlan {
  readonly unitId: number
  /** null: the unit's own yard. */
  readonly yardId: number | null
  readonly on: LocalDay
}

const logged = (visitOn: string, yardId: number | null) => ({ visit_on: visitOn, yard_id: yardId })

/**
 * Plans visits, each taken down. One that a unit already has on that day is not added again, but its yard is changed
 * where another is given. Returns how many are new or changed.
 */
export async function addPlannedVisits(
  db: Writer,
  visits: readonly VisitToPlan[],
  by: string,
  at: string,
): Promise<number> {
  const changes: Change[] = []
  for (const { unitId, yardId, on } of visits) {
    const known = await db
      .selectFrom('planned_visit')
      .selectAll()
      .where('unit_id', '=', unitId)
      .where('visit_on', '=', on)
      .executeTakeFirst()
    if (known && known.yard_id === yardId) continue
    const place = { unitId, subject: 'planned visit', key: on, new: logged(on, yardId) } as const
    if (known) {
      await db.updateTable('planned_visit').set({ yard_id: yardId }).where('id', '=', known.id).execute()
      changes.push({ ...place, action: 'changed', recordId: known.id, old: logged(on, known.yard_id) })
    } else {
      const { id } = await db
        .insertInto('planned_visit')
        .values({ unit_id: unitId, yard_id: yardId, visit_on: on })
        .returning('id')
        .executeTakeFirstOrThrow()
      changes.push({ ...place, action: 'added', recordId: id })
    }
  }
  await recordChanges(db, { by, at }, changes)
  return changes.length
}

/** Takes a planned visit back; returns its unit, or undefined where there is no such visit any more. */
export async function removePlannedVisit(db: Writer, id: number, by: string, at: string): Promise<number | undefined> {
  const known = await db.deleteFrom('planned_visit').where('id', '=', id).returningAll().executeTakeFirst()
  if (!known) return undefined
  await recordChanges(db, { by, at }, [
    {
      unitId: known.unit_id,
      subject: 'planned visit',
      key: known.visit_on,
      action: 'removed',
      recordId: id,
      old: logged(known.visit_on, known.yard_id),
    },
  ])
  return known.unit_id
}

/** Units and yards by name, for rows that name them. */
export async function visitNames(
  db: Reader,
): Promise<{ units: ReadonlyMap<string, number>; yards: ReadonlyMap<string, number> }> {
  const units = await db.selectFrom('unit').select(['id', 'number']).execute()
  const yards = await db.selectFrom('yard').select(['id', 'name']).execute()
  return {
    units: new Map(units.map(({ id, number }) => [number, id])),
    yards: new Map(yards.map(({ id, name }) => [name, id])),
  }
}
