import { implement } from '@orpc/server'
import { answerInStream, asAnswer } from '#core/api/answer-errors.ts'
import type { Context } from '#core/api/context.ts'
import { contract } from '#core/api/contract.ts'

/** The contract's procedures, to be given their handlers; whatever a handler throws reaches the screen as a sentence. */
export const procedures = implement(contract).$context<Context>().use(async ({ next, context, signal }) => {
  const answer = async (error: unknown) => (signal?.aborted === true ? error : asAnswer(error, context.report))
  try {
    const result = await next()
    return { ...result, output: answerInStream(result.output, answer) }
  } catch (error) {
    throw await answer(error)
  }
})
