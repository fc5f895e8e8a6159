import { type ImplementerInternalWithMiddlewares, implement } from '@orpc/server'
import { asAnswer, followStream } from '#core/api/answer-errors.ts'
import { admitCall, answerFor, holdToRights } from '#core/api/at-the-door.ts'
import type { Context } from '#core/api/context.ts'
import { noteCall } from '#core/api/note-call.ts'
import { answerSpoken } from '#core/api/speaking.ts'
import { contract } from '#core/contracts/contract.ts'
import { readMeasures } from '#core/store/house-rules.ts'
import { storedMeasures } from '#core/words/measures.ts'

const implemented = implement(contract)
  .$context<Context>()
  // One step less before the input is checked: the first two of these are asked before, the last after it.
  .$config({ initialInputValidationIndex: -1 })
  .use(({ next, context }) => answerSpoken(context, next))
  .use(async ({ next, context, signal, path }) => {
    const note = noteCall(path, context, signal)
    const measuresInUse = () => context.fleet.use(({ db }) => readMeasures(db)).catch(() => storedMeasures)
    const answer = async (error: unknown) => {
      const told = signal?.aborted === true ? error : await asAnswer(error, context.report, measuresInUse)
      note.failed(told)
      return told
    }
    try {
      admitCall(context, path)
      const result = await next()
      return { ...result, output: followStream(result.output, { answer, done: note.done }) }
    } catch (error) {
      throw await answer(error)
    }
  })
  .use(async ({ next, context, path }, input) => {
    const { caller } = context
    if (!caller) return next()
    await holdToRights({ ...context, caller }, path, input)
    const result = await next()
    return { ...result, output: answerFor({ ...context, caller }, path, result.output) }
  })

/**
 * The contract's procedures, to be given their handlers; whatever a handler throws reaches the screen as a sentence,
 * and the log as a code. Its type is written down, since what the compiler would infer is too long for it.
 */
export const procedures: ImplementerInternalWithMiddlewares<typeof contract, Context, Context> = implemented
