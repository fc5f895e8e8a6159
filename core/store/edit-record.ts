import { phrase } from '#core/words/phrase.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import type { Schema } from '#core/store/schema.ts'
import type { Change, ChangeSubject, FieldConflict, StoredValue, StoredValues } from '#core/words/change.ts'
import { ConflictError, TarelineError } from '#core/words/problem.ts'

/** The table that holds the records of a subject, a row each with an `id`. */
export const recordTables = {
  yard: 'yard',
  unit: 'unit',
  'axle group': 'axle_group',
  circuit: 'circuit',
  sensor: 'sensor',
  mount: 'mount',
  battery: 'battery_change',
  event: 'event',
  scale: 'scale',
  ticket: 'ticket',
  reading: 'reading',
  calibration: 'calibration',
  'planned visit': 'planned_visit',
  mapping: 'mapping',
  'cell stock': 'cell_stock',
  'cell price': 'cell_price',
} as const satisfies Partial<Record<ChangeSubject, keyof Schema>>
export type RecordSubject = keyof typeof recordTables

/** The record that a change is of. */
export interface RecordPlace {
  readonly subject: RecordSubject
  /** How people name it. */
  readonly key: string
  readonly unitId: number | null
}

export interface RecordEdit extends RecordPlace {
  readonly id: number
  /** What the person saw in the columns that the form shows, and what stands there now. Columns as in the store. */
  readonly was: StoredValues
  readonly now: StoredValues
  readonly reason?: string | null
  /** What was done, for the log; `changed` where left out. */
  readonly action?: string
}

/** A row of any of the tables: which columns it has, the caller's subject says. */
type Row = Record<string, StoredValue>

// The columns follow from the subject at run time only, so the tables are taken for one of them towards Kysely.
const tableOf = (subject: RecordSubject) => recordTables[subject] as 'unit'

export async function findRecord(db: Reader, subject: RecordSubject, id: number): Promise<Row | undefined> {
  return (await db.selectFrom(tableOf(subject)).selectAll().where('id', '=', id).executeTakeFirst()) as Row | undefined
}

/** Who changed a record last, by the log. */
export async function lastHand(
  db: Reader,
  subject: ChangeSubject,
  recordId: number,
): Promise<{ by: string; at: string } | undefined> {
  const row = await db
    .selectFrom('change_log')
    .select(['changed_by', 'changed_at'])
    .where('subject', '=', subject)
    .where('record_id', '=', recordId)
    .orderBy('id', 'desc')
    .executeTakeFirst()
  return row && { by: row.changed_by, at: row.changed_at }
}

/** Adds a record; answers its id and the change to be taken down with `recordChanges`. */
export async function addRecord(
  db: Writer,
  { subject, key, unitId }: RecordPlace,
  values: StoredValues,
  reason: string | null = null,
): Promise<{ id: number; change: Change }> {
  // An id that the log knows is never given again: what was undone would be taken for the new record's past.
  const { used } = await db
    .selectFrom('change_log')
    .select(({ fn }) => fn.max('record_id').as('used'))
    .where('subject', '=', subject)
    .executeTakeFirstOrThrow()
  const { last } = await db
    .selectFrom(tableOf(subject))
    .select(({ fn }) => fn.max('id').as('last'))
    .executeTakeFirstOrThrow()
  const id = Math.max(used ?? 0, last ?? 0) + 1
  await db
    .insertInto(tableOf(subject))
    .values({ ...values, id } as never)
    .execute()
  return { id, change: { unitId, subject, key, action: 'added', recordId: id, new: values, reason } }
}

/** The columns that the person changed and that another window has changed to something else meanwhile. */
export function conflictsOf(
  { was, now }: { readonly was: StoredValues; readonly now: StoredValues },
  stored: StoredValues,
): FieldConflict[] {
  return Object.keys(now).flatMap((column): FieldConflict[] => {
    const [seen, typed, present] = [was[column] ?? null, now[column] ?? null, stored[column] ?? null]
    return typed === seen || present === seen || present === typed
      ? []
      : [{ field: column, was: seen, stored: present, typed }]
  })
}

/**
 * Changes those columns of a record that the person changed; answers the change to be taken down with `recordChanges`,
 * or none where nothing differs. What another window changed in the same column meanwhile is never overwritten.
 *
 * Errors: ConflictError with every such column; TarelineError `gone` where the record is no longer there.
 */
export async function editRecord(
  db: Writer,
  { subject, key, unitId, id, was, now, reason = null, action = 'changed' }: RecordEdit,
): Promise<Change[]> {
  const stored = await findRecord(db, subject, id)
  if (!stored)
    throw new TarelineError(
      'gone',
      phrase('{key} is no longer there: another window took it away meanwhile. Nothing was saved.', { key }),
    )
  const touched = Object.keys(now).filter((column) => now[column] !== was[column])
  const conflicts = conflictsOf({ was, now }, stored)
  if (conflicts.length > 0) throw new ConflictError(key, conflicts, await lastHand(db, subject, id))
  const changed = touched.filter((column) => (now[column] ?? null) !== (stored[column] ?? null))
  if (changed.length === 0) return []
  const pick = (from: StoredValues) => Object.fromEntries(changed.map((column) => [column, from[column] ?? null]))
  await db
    .updateTable(tableOf(subject))
    .set(pick(now) as never)
    .where('id', '=', id)
    .execute()
  return [{ unitId, subject, key, action, recordId: id, old: pick(stored), new: pick(now), reason }]
}
