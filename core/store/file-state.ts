import { mendedOnDesk } from '#core/words/desk.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { numberOf } from '#core/store/rows.ts'

/**
 * How many units the file holds, its revision, which counts committed changes, the moment that its judgements are of
 * (stored instant), which revisions judgements and weights are made of, how often judgements were stored, and what was
 * damaged and made anew.
 */
export async function readFileState(db: Reader): Promise<{
  units: number
  revision: number
  assessedAt: string | null
  madeOf: string
  renewals: number
  mended: string | null
}> {
  const { units } = await db
    .selectFrom('unit')
    .select((e) => e.fn.countAll<number>().as('units'))
    .executeTakeFirstOrThrow()
  const row = await db
    .selectFrom(['ledger as l', 'books as b'])
    .select(['l.revision', 'b.judged_for', 'b.judged_revision', 'b.weighed_revision', 'b.renewals'])
    .executeTakeFirstOrThrow()
  return {
    units,
    revision: row.revision,
    assessedAt: row.judged_for,
    madeOf: `${row.judged_revision} ${row.weighed_revision}`,
    renewals: row.renewals,
    mended: await readDesk(db, mendedOnDesk),
  }
}

/** What lies on the desk under a name, or null. */
export async function readDesk(db: Reader, name: string): Promise<string | null> {
  return (await db.selectFrom('desk').select('text').where('name', '=', name).executeTakeFirst())?.text ?? null
}

/** Leaves a text on the desk in place of what lay there; null takes it away. It is no change of the record. */
export async function leaveOnDesk({ db }: Store, name: string, text: string | null, at: string): Promise<void> {
  if (text === null) await db.deleteFrom('desk').where('name', '=', name).execute()
  else
    await db
      .insertInto('desk')
      .values({ name, text, left_at: at })
      .onConflict((conflict) => conflict.column('name').doUpdateSet({ text, left_at: at }))
      .execute()
}

/** A mark that is another one once anybody, through this connection or another, has written to the file. */
export function changeMark({ raw }: Store): string {
  const others = raw.pragma('data_version', { simple: true }) as number
  return `${others} ${numberOf(raw, 'select total_changes()')}`
}
