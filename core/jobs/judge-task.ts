import { setImmediate } from 'node:timers/promises'
import { type GroupOutcome, type JudgeOrder, judgeOf } from '#core/store/assessment.ts'
import { shared } from '#core/store/columns.ts'

/** The groups of a fleet in stretches; whoever is free takes the next, whichever thread that is. */
export interface Stretches {
  /** How many are taken, in memory that threads share. */
  readonly taken: Int32Array
  readonly groups: number
  readonly groupsAtOnce: number
}

export const inStretches = (groups: number, groupsAtOnce: number): Stretches => ({
  taken: shared.places(1),
  groups,
  groupsAtOnce,
})

/** A stretch as it was judged, by its place among all of them. */
export interface JudgedStretch {
  readonly place: number
  readonly outcomes: readonly GroupOutcome[]
}

/**
 * Makes ready to judge an order: each call judges the next stretch that nobody has taken; undefined once there is none.
 */
export function stretchJudge(order: JudgeOrder, stretches: Stretches): () => JudgedStretch | undefined {
  const { taken, groups, groupsAtOnce } = stretches
  const judge = judgeOf(order)
  return () => {
    const place = Atomics.add(taken, 0, 1)
    const from = place * groupsAtOnce
    return from < groups ? { place, outcomes: [...judge(from, from + groupsAtOnce)] } : undefined
  }
}

/** The groups of a fleet to be judged together with other threads. The file itself is not opened. */
export interface JudgeTask {
  readonly kind: 'judge groups'
  readonly dbFile: string
  readonly order: JudgeOrder
  readonly stretches: Stretches
}

/** Judges stretches of a task and hands each on, until none is left. Errors: the signal's reason after a cancel. */
export async function doJudgeTask(
  { order, stretches }: JudgeTask,
  signal: AbortSignal,
  onPart: (part: JudgedStretch) => void,
): Promise<void> {
  const judgeNext = stretchJudge(order, stretches)
  for (let judged = judgeNext(); judged !== undefined; judged = judgeNext()) {
    onPart(judged)
    await setImmediate()
    signal.throwIfAborted()
  }
}
