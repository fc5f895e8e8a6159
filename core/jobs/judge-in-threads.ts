import { availableParallelism } from 'node:os'
import { noteChecked } from '#core/jobs/checked-files.ts'
import { inThread } from '#core/jobs/in-thread.ts'
import { type GroupOutcome, type Judge, type Stretch, judgeOrdered } from '#core/store/assessment.ts'
import { type Helpers, learnAnew } from '#core/store/catch-up.ts'
import { countSensors } from '#core/store/fleet-lists.ts'

/** Each thread holds some 50 MB. */
const mostThreads = 4
/** Fewer groups are judged before two threads have started. */
const fewestGroups = 2000
/** Judged between two looks at whether the work is to end. */
const groupsAtOnce = 250

const stretchesOf = (groups: number): Stretch[] =>
  Array.from({ length: Math.ceil(groups / groupsAtOnce) }, (_, at) => ({
    from: at * groupsAtOnce,
    to: Math.min(groups, (at + 1) * groupsAtOnce),
  }))

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
    const stretches = stretchesOf(length)
    const shares = Array.from({ length: threads }, (_, share) => {
      const own = stretches.filter((_, at) => at % threads === share)
      const task = { kind: 'judge groups', dbFile, order, stretches: own } as const
      const parts = new ReadableStream<readonly GroupOutcome[]>({
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
      })
      return parts.getReader()
    })
    try {
      // Threads take stretches in turn, so that all come along in the order of the fleet and little waits here.
      for (const at of stretches.keys()) {
        const { value } = (await shares[at % threads]?.read()) ?? {}
        if (value) yield* value
      }
    } finally {
      end.abort()
    }
  }

/** Learns from a large fleet in a thread of its own, which gives its memory back before the fleet is judged. */
const learnInThread = (dbFile: string, now: number): Promise<void> => inThread<void>({ kind: 'learn', dbFile, now })

/** Who helps to follow up a file that is open here, and whose pages are whole. */
export function helpersFor(dbFile: string): Helpers {
  noteChecked(dbFile)
  return {
    learn: async (store, now) =>
      await ((await countSensors(store.db)) < fewestGroups ? learnAnew(store, now) : learnInThread(dbFile, now)),
    judge: judgeInThreads(dbFile),
  }
}
