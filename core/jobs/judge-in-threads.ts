import { availableParallelism } from 'node:os'
import { inThread } from '#core/jobs/in-thread.ts'
import { type GroupOutcome, type Judge, judgeOrdered } from '#core/store/assessment.ts'

/** Each thread holds some 50 MB. */
const mostThreads = 4
/** Fewer groups are judged before two threads have started. */
const fewestGroups = 2000

/**
 * Judges the groups of large fleets in as many threads as the machine runs at once, each an even share of them, and
 * answers them in their order: the same, to the last digit, as one thread would. Whoever stops reading ends the work.
 *
 * dbFile: the fleet file that they are of. Errors: those of the threads.
 */
export const judgeInThreads = (
  dbFile: string,
  threads = Math.min(mostThreads, availableParallelism()),
  fewest = fewestGroups,
): Judge =>
  async function* (order) {
    const { length } = order.record.groups
    if (threads < 2 || length < fewest) {
      yield* judgeOrdered(order)
      return
    }
    const end = new AbortController()
    const startAt = (share: number) => Math.floor((share * length) / threads)
    const shares = Array.from({ length: threads }, (_, share) => {
      const task = { kind: 'judge groups', dbFile, order, from: startAt(share), to: startAt(share + 1) } as const
      return new ReadableStream<readonly GroupOutcome[]>({
        start: (judged) => {
          // Nobody reads on then, and what is read no more takes nothing more.
          const unlessEnded = (act: () => void) => {
            if (!end.signal.aborted) act()
          }
          const onPart = (part: unknown) => unlessEnded(() => judged.enqueue(part as readonly GroupOutcome[]))
          inThread<void>(task, { signal: end.signal, onPart }).then(
            () => unlessEnded(() => judged.close()),
            (error: unknown) => judged.error(error),
          )
        },
        cancel: () => end.abort(),
      })
    })
    try {
      for (const parts of shares) for await (const part of parts) yield* part
    } finally {
      end.abort()
    }
  }
