import { AsyncLocalStorage } from 'node:async_hooks'
import { RequestHeadersPlugin, type RequestHeadersPluginContext } from '@orpc/server/plugins'
import { isStream } from '#core/api/answer-errors.ts'
import { speechHeader, speechOfTag } from '#core/words/catalogues.ts'
import { type Speech, english, speakBy } from '#core/words/phrase.ts'

/** What a call says of how its window is spoken to; `hearingSpeech` puts it there. */
export type Spoken = RequestHeadersPluginContext

const spoken = new AsyncLocalStorage<Speech>()
speakBy(() => spoken.getStore() ?? english)

/** For the handler of a way in: has each call's headers reach the procedures. */
export const hearingSpeech = <T extends Spoken>() => new RequestHeadersPlugin<T>()

/** Says each part of a stream as the call is spoken to, since its reader fetches them later. */
function speakingStream<T>(speech: Speech, stream: AsyncIterator<unknown, unknown, void>): T {
  const { next } = stream
  stream.next = (...sent) => spoken.run(speech, () => next.apply(stream, sent))
  return stream as T
}

/** Answers a call in the language of its window; whoever names none, as a command does, is answered in English. */
export async function answerSpoken<T extends { readonly output: unknown }>(
  { reqHeaders }: Spoken,
  answer: () => T | PromiseLike<T>,
): Promise<T> {
  const speech = await speechOfTag(reqHeaders?.get(speechHeader) ?? null)
  if (speech === english) return await answer()
  const result = await spoken.run(speech, answer)
  return isStream(result.output) ? { ...result, output: speakingStream(speech, result.output) } : result
}
