import { type Compilable, sql } from 'kysely'
import type { Reader, Store, Writer } from '#core/store/open.ts'
import { containsWord, wordsOf, numberOf } from '#core/store/rows.ts'
import { lookUpTouched, markBehind, touchedColumns } from '#core/store/touched.ts'
import type { Change, ChangeSubject, Hand } from '#core/words/change.ts'
import { fleetWorkOf, touchKinds } from '#core/words/touch.ts'

interface Recording {
  /** The revision that they take back. */
  readonly undoes?: number
}

/** Rows of one statement: eleven parameters each, well below SQLite's 32,766. */
const rowsAtOnce = 1000

const asJson = (value: unknown): string | null => (value === undefined ? null : JSON.stringify(value))

function logRow(change: Change, { by, at }: Hand, revision: number, undoes: number | undefined) {
  const { unitId, subject, key, action, recordId = null, old, new: now, reason = null } = change
  return {
    changed_at: at,
    changed_by: by,
    unit_id: unitId,
    subject,
    subject_key: key,
    action,
    old_value: asJson(old),
    new_value: asJson(now),
    reason,
    revision,
    record_id: recordId,
    undoes: undoes ?? null,
  }
}

/**
 * Takes changes down in the log with every unit they are about, counts them as one change of the ledger, and notes what
 * is behind the record from then on: every writer ends with it, inside its transaction. Returns the ledger's revision,
 * which the changes share; without any, nothing is counted.
 */
export async function recordChanges(
  db: Writer,
  hand: Hand,
  changes: readonly Change[],
  { undoes }: Recording = {},
): Promise<number> {
  const { revision: before } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  if (changes.length === 0) return before
  const revision = before + 1
  const touched = await lookUpTouched(db, changes)
  await db
    .updateTable('ledger')
    .set({ revision, ...touchedColumns(touched.kinds, revision) })
    .execute()
  await markBehind(db, touched, revision)
  for (let from = 0; from < touched.changes.length; from += rowsAtOnce) {
    const slice = touched.changes.slice(from, from + rowsAtOnce)
    const logged = await db
      .insertInto('change_log')
      .values(slice.map(({ change }) => logRow(change, hand, revision, undoes)))
      .returning('id')
      .execute()
    const units = slice.flatMap(({ unitIds }, place) =>
      unitIds.flatMap((unit_id) => {
        const row = logged[place]
        return row ? [{ unit_id, change_id: row.id }] : []
      }),
    )
    for (let at = 0; at < units.length; at += rowsAtOnce)
      await db
        .insertInto('change_unit')
        .values(units.slice(at, at + rowsAtOnce))
        .execute()
  }
  return revision
}

/** The same for an import, which is about the whole fleet and holds the raw connection in a transaction of its own. */
export function recordImport({ db, raw }: Store, hand: Hand, change: Change): void {
  const revision = numberOf(raw, db.selectFrom('ledger').select('revision').compile().sql) + 1
  const run = (query: Compilable) => raw.prepare(query.compile().sql).run(...query.compile().parameters)
  run(db.updateTable('ledger').set({ revision, ...touchedColumns(touchKinds, revision) }))
  for (const what of fleetWorkOf(change))
    run(
      db
        .insertInto('behind_fleet')
        .values({ what, since: revision })
        .onConflict((conflict) => conflict.column('what').doUpdateSet({ since: revision })),
    )
  run(db.insertInto('change_log').values(logRow(change, hand, revision, undefined)))
}

/** Which changes: all of them where nothing is said. */
export interface ChangeFilter {
  readonly unitId?: number | undefined
  readonly subject?: ChangeSubject | undefined
  /** Every word must occur in who, what, old, new or why; capitals of A to Z make no difference. */
  readonly text?: string | undefined
  /** Stored instants, both included. */
  readonly from?: string | undefined
  readonly to?: string | undefined
}

const searched = sql<string>`concat_ws(char(10), u.number, c.changed_by, c.subject, c.subject_key, c.action,
  c.old_value, c.new_value, c.reason)`

function selectChanges(db: Reader, { unitId, subject, text = '', from, to }: ChangeFilter) {
  let query = db.selectFrom('change_log as c').leftJoin('unit as u', 'u.id', 'c.unit_id')
  if (unitId !== undefined)
    query = query.where('c.id', 'in', db.selectFrom('change_unit').select('change_id').where('unit_id', '=', unitId))
  if (subject !== undefined) query = query.where('c.subject', '=', subject)
  if (from !== undefined) query = query.where('c.changed_at', '>=', from)
  if (to !== undefined) query = query.where('c.changed_at', '<=', to)
  for (const word of wordsOf(text)) query = query.where(containsWord(searched, word))
  return query
}

/** Changes, newest first, at most `limit`, of those older than the change of id `after`. */
export function listChanges(
  db: Reader,
  filter: ChangeFilter,
  { after, limit }: { readonly after?: number | undefined; readonly limit: number },
) {
  const query = selectChanges(db, filter)
  return (after === undefined ? query : query.where('c.id', '<', after))
    .selectAll('c')
    .select('u.number as unit')
    .orderBy('c.id', 'desc')
    .limit(limit)
    .execute()
}
export type LoggedChange = Awaited<ReturnType<typeof listChanges>>[number]

export async function countChanges(db: Reader, filter: ChangeFilter): Promise<number> {
  const { changes } = await selectChanges(db, filter)
    .select(({ fn }) => fn.countAll<number>().as('changes'))
    .executeTakeFirstOrThrow()
  return changes
}

const stretch = 2000

/** Every change that the filter lets through, newest first, a stretch at a time. */
export async function* eachChange(db: Reader, filter: ChangeFilter): AsyncGenerator<LoggedChange[]> {
  let after: number | undefined
  for (;;) {
    const rows = await listChanges(db, filter, { after, limit: stretch })
    if (rows.length > 0) yield rows
    if (rows.length < stretch) return
    after = rows.at(-1)?.id
  }
}

/** Older changes say nothing of who is at the counter. */
const newestChanges = 20_000

/** The names under which the newest changes were made, the latest first, at most `limit`. */
export async function listPeople(db: Reader, limit: number): Promise<string[]> {
  const rows = await db
    .selectFrom('change_log')
    .select('changed_by')
    .where('changed_by', '<>', 'import')
    .where('id', '>', ({ selectFrom }) =>
      selectFrom('change_log as n').select(({ fn, eb }) => eb(fn.max('n.id'), '-', newestChanges).as('first')),
    )
    .groupBy('changed_by')
    .orderBy(({ fn }) => fn.max('id'), 'desc')
    .limit(limit)
    .execute()
  return rows.map(({ changed_by }) => changed_by)
}
