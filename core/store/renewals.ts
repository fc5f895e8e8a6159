import type { Compilable } from 'kysely'
import type { Store } from '#core/store/open.ts'
import { listRoster } from '#core/store/roster.ts'
import { type TouchKind, touchKinds } from '#core/words/touch.ts'

/** What the Roster shows of some units, to tell whether it changed. */
export const shownOnRoster = (store: Store, unitIds: readonly number[]): Map<number, string> =>
  new Map(listRoster(store, unitIds).map((row) => [row.unitId, JSON.stringify(row)]))

/**
 * Counts a renewal of judgements, inside the transaction that stores them, and notes the units that it is about.
 */
export function noteRenewal({ db, raw }: Store, unitIds: readonly number[]): void {
  const prepared = (query: Compilable) => raw.prepare(query.compile().sql)
  prepared(db.updateTable('books').set(({ eb }) => ({ renewals: eb('renewals', '+', 1) }))).run(1)
  const renewal = prepared(db.selectFrom('books').select('renewals')).pluck().get()
  const note = prepared(
    db
      .insertInto('renewed_unit')
      .values({ unit_id: 0, renewal: 0 })
      .onConflict((conflict) =>
        conflict.column('unit_id').doUpdateSet(({ ref }) => ({ renewal: ref('excluded.renewal') })),
      ),
  )
  for (const unitId of unitIds) note.run(unitId, renewal)
}

/** More units than these are not told one by one. */
const fewUnits = 24

/** What has happened since a revision of the record and a renewal of judgements. */
export interface Since {
  readonly kinds: readonly TouchKind[]
  /** Ids of the units that it is about, changed or judged anew; null: it may be any. */
  readonly unitIds: readonly number[] | null
  /** Whether the fleet as a whole was judged anew: of other units, what the Roster shows is the same. */
  readonly whole: boolean
}

export async function readSince(
  { db }: Pick<Store, 'db'>,
  { revision, renewals }: { readonly revision: number; readonly renewals: number },
): Promise<Since> {
  const ledger = await db.selectFrom('ledger').selectAll().executeTakeFirstOrThrow()
  const kinds = touchKinds.filter((kind) => ledger[`${kind}_revision`] > revision)
  const changes = await db
    .selectFrom('change_log as c')
    .leftJoin('change_unit as u', 'u.change_id', 'c.id')
    .select(['c.subject', 'u.unit_id'])
    .distinct()
    .where('c.revision', '>', revision)
    .limit(4 * fewUnits)
    .execute()
  const renewed = await db
    .selectFrom('renewed_unit')
    .select('unit_id')
    .where('renewal', '>', renewals)
    .limit(fewUnits + 1)
    .execute()
  const named = [...changes, ...renewed].flatMap(({ unit_id }) => unit_id ?? [])
  const unitIds = [...new Set(named)]
  const isAny = changes.length === 4 * fewUnits || changes.some(({ unit_id }) => unit_id === null)
  const { whole_renewal: whole } = await db.selectFrom('books').select('whole_renewal').executeTakeFirstOrThrow()
  return { kinds, unitIds: isAny || unitIds.length > fewUnits ? null : unitIds, whole: whole > renewals }
}

/** A change as it is told in a line. */
export interface ToldChange {
  readonly at: string
  readonly by: string
  readonly unit: string | null
  readonly subject: string
  readonly key: string
  readonly recordId: number | null
}

/** Who changed what since a revision, the latest first, so many of them at most. */
export const listChangesSince = ({ db }: Pick<Store, 'db'>, revision: number, most: number): Promise<ToldChange[]> =>
  db
    .selectFrom('change_log as c')
    .leftJoin('unit as u', 'u.id', 'c.unit_id')
    .select([
      'c.changed_at as at',
      'c.changed_by as by',
      'u.number as unit',
      'c.subject',
      'c.subject_key as key',
      'c.record_id as recordId',
    ])
    .where('c.revision', '>', revision)
    .orderBy('c.id', 'desc')
    .limit(most)
    .execute()
