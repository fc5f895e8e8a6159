import { sql } from 'kysely'
import type { ChangeSubject } from '#core/fleet/change.ts'
import type { Reader } from '#core/store/open.ts'
import { containsWord, wordsOf } from '#core/store/search-text.ts'

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

const searched = sql<string>`concat_ws(char(10), u.number, c.changed_by, c.subject, c.subject_key, c.action, c.old_value, c.new_value, c.reason)`

function selectChanges(db: Reader, { unitId, subject, text = '', from, to }: ChangeFilter) {
  let query = db.selectFrom('change_log as c').leftJoin('unit as u', 'u.id', 'c.unit_id')
  if (unitId !== undefined) query = query.where('c.unit_id', '=', unitId)
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

/** The names under which changes were made, the latest first, at most `limit`. */
export async function listPeople(db: Reader, limit: number): Promise<string[]> {
  const rows = await db
    .selectFrom('change_log')
    .select('changed_by')
    .where('changed_by', '<>', 'import')
    .groupBy('changed_by')
    .orderBy(({ fn }) => fn.max('id'), 'desc')
    .limit(limit)
    .execute()
  return rows.map(({ changed_by }) => changed_by)
}
