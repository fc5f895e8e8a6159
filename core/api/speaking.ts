import { AsyncLocalStorage } from 'node:async_hooks'
import type { StandardHandlerPlugin } from '@orpc/server/standard'
import { isStream } from '#core/api/answer-errors.ts'
import { speechHeader, speechOfTag } from '#core/words/catalogues.ts'
import { type Speech, english, speakBy } from '#core/words/phrase.ts'

/** How the window of a call is spoken to, as the call says; `hearingSpeech` puts it there. */
export interface Spoken {
  readonly speechTag?: string
}

const spoken = new AsyncLocalStorage<Speech>()
speakBy(() => spoken.getStore() ?? english)

/**
 * For the handler of a way in: has what a call says of its window's speech reach the procedures. Of the headers it
 * takes that one only, since HTTP/2 has some that no other reader takes.
 */
export const hearingSpeech = <T extends Spoken>(): StandardHandlerPlugin<T> => ({
  init: (options) => {
    options.rootInterceptors ??= []
    options.rootInterceptors.push(({ next, ...call }) => {
      const tag = call.request.headers[speechHeader]
      return next(typeof tag === 'string' ? { ...call, context: { ...call.context, speechTag: tag } } : call)
    })
  },
})

/** Works in the language of the window that sent a request, before or without any procedure; tag: of its header. */
export async function workSpoken<T>(tag: unknown, work: () => T | Promise<T>): Promise<T> {
  return spoken.run(await speechOfTag(typeof tag === 'string' ? tag : null), work)
}

/** Says each part of a stream as the call is spoken to, since its reader fetches them later. */
function speakingStream<T>(speech: Speech, stream: AsyncIterator<unknown, unknown, void>): T {
  const { next } = stream
  stream.next = (...sent) => spoken.run(speech, () => next.apply(stream, sent))
  return stream as T
}

/** Answers a call in the language of its window; whoever names none, as a command does, is answered in English. */
export async function answerSpoken<T extends { readonly output: unknown }>(
  { speechTag }: Spoken,
  answer: () => T | PromiseLike<T>,
): Promise<T> {
  const speech = await speechOfTag(speechTag ?? null)
  if (speech === english) return await answer()
  const result = await spoken.run(speech, answer)
  return isStream(result.output) ? { ...result, output: speakingStream(speech, result.output) } : result
}
