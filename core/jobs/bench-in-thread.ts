import { type BenchAnswers, type BenchQuestions, type BenchSubject, answerBench } from '#core/jobs/ask-bench.ts'
import type { BenchTask } from '#core/jobs/file-task.ts'
import { inThread } from '#core/jobs/in-thread.ts'
import { countSensors } from '#core/store/fleet-lists.ts'
import type { Store } from '#core/store/open.ts'

/** More sensors than these keep the procedures waiting for longer than a thread that stands ready. */
const fewSensors = 2000

/** The question to the bench before: the next waits for it, since the same thread then knows most of the answer. */
let benchTurn: Promise<unknown> = Promise.resolve()

/**
 * Answers a question to the shop's bench (now: ms UTC), of a large fleet in a thread. Errors: those of `openUnchecked`.
 */
export async function askBench<About extends BenchSubject>(
  store: Store,
  about: About,
  asked: BenchQuestions[About],
  now: number,
): Promise<BenchAnswers[About]> {
  if ((await countSensors(store.db)) <= fewSensors) return await answerBench(store, about, asked, now)
  const task: BenchTask<About> = { kind: 'bench', dbFile: store.file, about, asked, now }
  const answer = benchTurn.then(() => inThread<BenchAnswers[About]>(task))
  benchTurn = answer.catch(() => undefined)
  return await answer
}
