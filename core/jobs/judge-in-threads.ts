import { availableParallelism } from 'node:os'
import { setImmediate } from 'node:timers/promises'
import { noteChecked } from '#core/jobs/checked-files.ts'
import { inThread } from '#core/jobs/in-thread.ts'
import { type JudgedStretch, inStretches, stretchJudge } from '#core/jobs/judge-task.ts'
import { type GroupOutcome, type Judge, judgeOrdered } from '#core/store/assessment.ts'
import { type Helpers, learnAnew } from '#core/store/catch-up.ts'
import { countSensors } from '#core/store/fleet-lists.ts'

/** Each thread holds some 50 MB. */
const mostThreads = 4
/** Fewer groups are judged before a second thread has started. */
const fewestGroups = 2000
/** Judged between two looks at what others have judged, or whether the work is to end. */
const usualAtOnce = 250

/**
 * Judges the groups of large fleets in as many threads as the machine runs at once, this one among them: one thread
 * less has to start, be handed the record and warm up. Answers them in their order: the same, to the last digit, as one
 * thread would. Whoever stops reading ends the work.
 *
 * dbFile: the fleet file that they are of. Errors: those of the threads.
 */
export const judgeInThreads = (
  dbFile: string,
  threads = Math.min(mostThreads, availableParallelism()),
  fewest = fewestGroups,
  groupsAtOnce = usualAtOnce,
): Judge =>
  async function* (order) {
    const { length } = order.record.groups
    if (threads < 2 || length < fewest) {
      yield* judgeOrdered(order)
      return
    }
    const end = new AbortController()
    const stretches = inStretches(length, groupsAtOnce)
    const judged = new Map<number, readonly GroupOutcome[]>()
    let heard = Promise.withResolvers<void>()
    const onPart = (part: unknown) => {
      const { place, outcomes } = part as JudgedStretch
      judged.set(place, outcomes)
      heard.resolve()
      heard = Promise.withResolvers()
    }
    const helpers = Array.from({ length: threads - 1 }, () =>
      inThread<void>({ kind: 'judge groups', dbFile, order, stretches }, { signal: end.signal, onPart }),
    )
    const failed = new Promise<never>((_, reject) => {
      for (const helper of helpers) helper.catch(reject)
    })
    // It is asked only while this thread waits.
    failed.catch(() => {})
    const judgeNext = stretchJudge(order, stretches)
    let isLeft = true
    try {
      for (let place = 0; place * groupsAtOnce < length; place += 1) {
        while (!judged.has(place)) {
          const own = isLeft ? judgeNext() : undefined
          if (own === undefined) {
            isLeft = false
            await Promise.race([heard.promise, failed])
            continue
          }
          judged.set(own.place, own.outcomes)
          // What the others have judged meanwhile comes in.
          await setImmediate()
        }
        yield* judged.get(place) ?? []
        judged.delete(place)
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
