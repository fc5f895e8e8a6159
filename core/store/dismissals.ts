import { dismissalMark } from '#core/findings/set-aside.ts'
import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { sayStored } from '#core/words/say.ts'
import { type Said, sayFinding } from '#core/words/sentences/findings.ts'
import { readZone } from '#core/store/zone.ts'

export interface Dismissal {
  readonly findingKey: string
  readonly evidence: string
  readonly reason: string
  readonly by: string
  /** Stored instant. */
  readonly at: string
}

/** Marks of every finding that was ever set aside; one on other evidence covers nothing any more. */
export async function readDismissalMarks(db: Reader): Promise<Set<string>> {
  const rows = await db.selectFrom('dismissal').select(['finding_key', 'evidence']).execute()
  return new Set(rows.map(({ finding_key, evidence }) => dismissalMark(finding_key, evidence)))
}

/**
 * Sets a finding aside on its present evidence, with the reason in the change log: what it said there in the stored
 * measures, and as data.
 */
export async function dismissFinding(
  db: Writer,
  unitId: number | null,
  said: Said,
  { findingKey, evidence, reason, by, at }: Dismissal,
): Promise<void> {
  await db
    .insertInto('dismissal')
    .values({ finding_key: findingKey, evidence, reason, dismissed_by: by, dismissed_at: at })
    .execute()
  const { message } = sayFinding(said, sayStored(await readZone(db)))
  await recordChanges(db, { by, at }, [
    {
      unitId,
      subject: 'finding',
      key: findingKey,
      action: 'dismissed',
      old: { message, said: { ...said } },
      reason,
    },
  ])
}

/** A stored finding by id, or undefined once an assessment has replaced it. */
export function findStoredFinding(db: Reader, id: number) {
  return db.selectFrom('finding').selectAll().where('id', '=', id).executeTakeFirst()
}

/** The dismissals of findings about a unit, or of those about no unit (null), newest first. */
export function listDismissals(db: Reader, unitId: number | null) {
  return db
    .selectFrom('change_log')
    .select(['changed_at', 'changed_by', 'subject_key', 'old_value', 'reason'])
    .where('unit_id', 'is', unitId)
    .where('subject', '=', 'finding')
    .orderBy('changed_at', 'desc')
    .execute()
}
