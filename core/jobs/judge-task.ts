import { setImmediate } from 'node:timers/promises'
import { type GroupOutcome, type JudgeOrder, judgeOrdered } from '#core/store/assessment.ts'

/** Some groups of a fleet to be judged: those from one place to before another. The file itself is not opened. */
export interface JudgeTask {
  readonly kind: 'judge groups'
  readonly dbFile: string
  readonly order: JudgeOrder
  readonly from: number
  readonly to: number
}

/** Judged between two looks at whether the work is to end. */
const groupsAtOnce = 250

/** Judges the groups of a task and hands them on part by part. Errors: the signal's reason after a cancel. */
export async function doJudgeTask(
  { order, from, to }: JudgeTask,
  signal: AbortSignal,
  onPart: (part: readonly GroupOutcome[]) => void,
): Promise<void> {
  let part: GroupOutcome[] = []
  for (const outcome of judgeOrdered(order, from, to)) {
    part.push(outcome)
    if (part.length < groupsAtOnce) continue
    onPart(part)
    part = []
    await setImmediate()
    signal.throwIfAborted()
  }
  onPart(part)
}
