import { readFileState } from '#core/store/file-state.ts'
import type { Store } from '#core/store/open.ts'
import { speech } from '#core/words/phrase.ts'

interface Answers {
  /** The state of the file that they are of. */
  readonly of: string
  readonly byQuestion: Map<string, Promise<unknown>>
}

/** The answers of each open file as it stands; those of an earlier state are forgotten with the first of the next. */
const standing = new WeakMap<Store, Answers>()

/**
 * The answer to a question about the whole fleet that every window asks anew after each save: read once for all of
 * them as long as neither record nor judgements nor weights move. question: its name with all that was asked; it must
 * not hang on who asks, nor on the time but through the judgements. Errors: those of `read`, which are not kept.
 */
export async function sharedAnswer<T>(store: Store, question: string, read: () => Promise<T>): Promise<T> {
  const { revision, renewals, assessedAt, madeOf } = await readFileState(store.db)
  const of = [revision, renewals, assessedAt, madeOf].join(' ')
  const known = standing.get(store)
  const answers = known?.of === of ? known : { of, byQuestion: new Map<string, Promise<unknown>>() }
  standing.set(store, answers)
  const { byQuestion } = answers
  const { language, locale } = speech()
  const spoken = `${language} ${locale} ${question}`
  const answer = (byQuestion.get(spoken) as Promise<T> | undefined) ?? read()
  byQuestion.set(spoken, answer)
  answer.catch(() => byQuestion.delete(spoken))
  return await answer
}
