import { setImmediate } from 'node:timers/promises'
import { type GroupOutcome, type JudgeOrder, type Stretch, judgeStretches } from '#core/store/assessment.ts'

/** Some stretches of the groups of a fleet to be judged. The file itself is not opened. */
export interface JudgeTask {
  readonly kind: 'judge groups'
  readonly dbFile: string
  readonly order: JudgeOrder
  readonly stretches: readonly Stretch[]
}

/** Judges each stretch of a task and hands it on. Errors: the signal's reason after a cancel. */
export async function doJudgeTask(
  { order, stretches }: JudgeTask,
  signal: AbortSignal,
  onPart: (part: readonly GroupOutcome[]) => void,
): Promise<void> {
  for (const judged of judgeStretches(order, stretches)) {
    onPart(judged)
    await setImmediate()
    signal.throwIfAborted()
  }
}
