import type { Change, Hand } from '#core/fleet/change.ts'
import type { Store, Writer } from '#core/store/open.ts'

interface Recording {
  /** No judgement and no weight follows from these changes, such as notes: what was current stays so. */
  readonly harmless?: boolean
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
 * Takes changes down in the log and counts them as one change of the ledger: every writer ends with it, inside its
 * transaction. Returns the ledger's revision, which the changes share; without any, nothing is counted.
 */
export async function recordChanges(
  db: Writer,
  hand: Hand,
  changes: readonly Change[],
  { harmless = false, undoes }: Recording = {},
): Promise<number> {
  const { revision: before } = await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()
  if (changes.length === 0) return before
  const revision = before + 1
  await db.updateTable('ledger').set({ revision }).execute()
  if (harmless) {
    await db.updateTable('assessment').set({ revision }).where('revision', '=', before).execute()
    await db.updateTable('weighing_state').set({ revision }).where('revision', '=', before).execute()
  }
  for (let from = 0; from < changes.length; from += rowsAtOnce) {
    await db
      .insertInto('change_log')
      .values(changes.slice(from, from + rowsAtOnce).map((change) => logRow(change, hand, revision, undoes)))
      .execute()
  }
  return revision
}

/** The same for a writer that holds the raw connection in a transaction of its own. */
export function recordChangeNow({ db, raw }: Store, hand: Hand, change: Change): void {
  const { sql } = db
    .updateTable('ledger')
    .set(({ eb }) => ({ revision: eb('revision', '+', 1) }))
    .returning('revision')
    .compile()
  const { revision } = raw.prepare(sql).get(1) as { revision: number }
  const insert = db
    .insertInto('change_log')
    .values(logRow(change, hand, revision, undefined))
    .compile()
  raw.prepare(insert.sql).run(...insert.parameters)
}
