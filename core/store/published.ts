import { sql } from 'kysely'
import { readBooks } from '#core/store/books.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { placedGroups } from '#core/store/placed.ts'
import { numberOf } from '#core/store/rows.ts'

/**
 * One reading of the file for all that is asked of it, whoever saves meanwhile: a transaction that only reads, so that
 * nobody waits for it.
 */
export async function inOneLook<T>({ raw }: Store, look: () => Promise<T>): Promise<T> {
  raw.exec('begin')
  try {
    return await look()
  } finally {
    if (raw.inTransaction) raw.exec('rollback')
  }
}

/**
 * A text that differs whenever anything that is published may: revisions, the day that was judged for, and the last
 * change itself, by which two copies of a file that went their own ways are told apart.
 */
export async function markOfRecord({ db }: Store): Promise<string> {
  const { revision, judgedFor, zone } = await readBooks(db)
  const books = await db.selectFrom('books').select(['renewals', 'weighed_revision']).executeTakeFirstOrThrow()
  const last = await db
    .selectFrom('change_log')
    .select(['id', 'changed_at', 'changed_by', 'subject', 'subject_key', 'action'])
    .orderBy('id', 'desc')
    .limit(1)
    .executeTakeFirst()
  return JSON.stringify([revision, judgedFor, zone, books, last ?? null])
}

/** The largest number of a weighing that is stored. */
export const lastWeighing = ({ raw }: Store): number =>
  numberOf(raw, 'select coalesce(max(weighing), 0) from weighed_unit')

/** The stored standing of every sensed group under the names that people use, by unit. */
export const listGroupStandings = (db: Reader) =>
  placedGroups(db)
    .innerJoin('group_standing as l', 'l.group_id', 'g.id')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .selectAll('l')
    .select(['u.number as unit', 'y.name as yard', 'g.name as group', 'g.role', 'u.service_state'])
    .orderBy('l.unit_id')
    .orderBy('l.group_id')
    .execute()
export type GroupStanding = Awaited<ReturnType<typeof listGroupStandings>>[number]

/** The units by id, with their yards. */
export async function unitYards(db: Reader): Promise<ReadonlyMap<number, string | null>> {
  const rows = await db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select(['u.id', 'y.name'])
    .execute()
  return new Map(rows.map(({ id, name }) => [id, name]))
}

export interface WeighingNames {
  readonly readings: ReadonlyMap<number, string>
  readonly tickets: ReadonlyMap<number, { readonly ticket: string; readonly scale: string }>
}

/** What people call some readings and tickets. */
export async function nameWeighings(
  db: Reader,
  readingIds: readonly number[],
  ticketIds: readonly number[],
): Promise<WeighingNames> {
  const asList = (ids: readonly number[]) => sql<number>`(select value from json_each(${JSON.stringify(ids)}))`
  const readings = await db.selectFrom('reading').select(['id', 'name']).where('id', 'in', asList(readingIds)).execute()
  const tickets = await db
    .selectFrom('ticket as t')
    .innerJoin('scale as s', 's.id', 't.scale_id')
    .select(['t.id', 't.number as ticket', 's.name as scale'])
    .where('t.id', 'in', asList(ticketIds))
    .execute()
  return {
    readings: new Map(readings.map(({ id, name }) => [id, name])),
    tickets: new Map(tickets.map(({ id, ...named }) => [id, named])),
  }
}
