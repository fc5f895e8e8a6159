import { phrase } from '#core/words/phrase.ts'
import { createHash } from 'node:crypto'
import type { Reader, Writer } from '#core/store/open.ts'
import { TarelineError } from '#core/words/problem.ts'

/** A save by the id that it was sent with. */
export interface SentSave {
  readonly id: string
  /** Of all that was sent. */
  readonly digest: string
}

/** What tells one save from another; values as JSON has them, in the order in which their schema does. */
export const digestOf = (values: unknown): string => createHash('sha256').update(JSON.stringify(values)).digest('hex')

async function findAnswer<Answer>(db: Reader, { id, digest }: SentSave): Promise<Answer | undefined> {
  const row = await db.selectFrom('sent_save').select(['digest', 'answer']).where('sent_id', '=', id).executeTakeFirst()
  if (row === undefined) return undefined
  if (row.digest !== digest)
    throw new TarelineError(
      'sent-otherwise',
      phrase('A save with this mark is in the record already, with other values. Nothing was saved; type it again.'),
    )
  return JSON.parse(row.answer) as Answer
}

/** Keeps what a save was answered, in the transaction that saved it; a second one of that id rolls that back. */
export async function rememberSave(
  db: Writer,
  sent: SentSave | undefined,
  answer: unknown,
  savedAt: string,
): Promise<void> {
  if (!sent) return
  await db
    .insertInto('sent_save')
    .values({ sent_id: sent.id, saved_at: savedAt, digest: sent.digest, answer: JSON.stringify(answer) })
    .execute()
}

/**
 * Saves what was sent under an id once: whatever comes again under it is told what the first was told. `save` has to
 * remember its answer. A save without an id is simply saved. Errors: those of `save`; TarelineError `sent-otherwise`.
 */
export async function saveOnce<Answer>(
  db: Reader,
  sent: SentSave | undefined,
  save: () => Promise<Answer>,
): Promise<Answer> {
  if (!sent) return await save()
  const known = await findAnswer<Answer>(db, sent)
  if (known !== undefined) return known
  try {
    return await save()
  } catch (error) {
    // Two may be on their way at once: the later finds the name taken by the earlier, or its id.
    const meanwhile = await findAnswer<Answer>(db, sent)
    if (meanwhile === undefined) throw error
    return meanwhile
  }
}
