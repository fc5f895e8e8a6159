import type { PeopleWriter } from '#core/store/people/accounts.ts'
import type { PeopleDb } from '#core/store/people/people-file.ts'
import type { DoorEvent } from '#core/words/door-events.ts'

/** So many entries are kept; older ones go. */
const mostEntries = 20_000
/** Old entries go in stretches, so that not every entry counts them. */
const stretch = 500

export interface LoggedEvent extends DoorEvent {
  readonly id: number
  /** Stored instant. */
  readonly at: string
}

/** Takes down what happened at the door. */
export async function noteEvent(db: PeopleDb | PeopleWriter, at: string, event: DoorEvent): Promise<void> {
  const { id } = await db
    .insertInto('door_log')
    .values({ at, ...event })
    .returning('id')
    .executeTakeFirstOrThrow()
  if (id % stretch === 0)
    await db
      .deleteFrom('door_log')
      .where('id', '<=', id - mostEntries)
      .execute()
}

/** The newest entries first; after: the last one of the page before. */
export async function listEvents(
  db: PeopleDb,
  { after, limit }: { readonly after: number | undefined; readonly limit: number },
): Promise<LoggedEvent[]> {
  return db
    .selectFrom('door_log')
    .selectAll()
    .$if(after !== undefined, (query) => query.where('id', '<', after ?? 0))
    .orderBy('id', 'desc')
    .limit(limit)
    .execute()
}
