import { workSpoken } from '#core/api/speaking.ts'
import { speechHeader } from '#core/words/catalogues.ts'
import { codeOf } from '#core/words/problem.ts'
import { commonHeaders, sentenceAnswer } from '#electron/web/content-policy.ts'
import { serveInbox } from '#electron/web/inboxes.ts'
import { serveStatic } from '#electron/web/static-files.ts'

export interface WebFolders {
  /** The built screens. */
  readonly renderer: string
  /** Where picked files are kept until they have been imported. */
  readonly inboxRoot: string
}

/** Whoever asked has hung up, as a window does that is closed while it sends; no fault of the app. */
const hasLeft = (error: unknown) =>
  ['ABORT_ERR', 'ERR_STREAM_PREMATURE_CLOSE', 'ECONNRESET'].includes(codeOf(error) ?? '')

/**
 * Answers what a window asks for beside the procedures; the same function serves the loopback window and Electron's own
 * scheme.
 */
export function webHandler(
  { renderer, inboxRoot }: WebFolders,
  report: (error: unknown) => void,
): (request: Request) => Promise<Response> {
  return async (request) => {
    try {
      const { pathname } = new URL(request.url)
      const answer = pathname.startsWith('/inbox/')
        ? await workSpoken(request.headers.get(speechHeader), () => serveInbox(inboxRoot, request))
        : await serveStatic(renderer, request)
      for (const [name, value] of Object.entries(commonHeaders)) answer.headers.set(name, value)
      return answer
    } catch (error) {
      if (hasLeft(error)) return sentenceAnswer(400, 'The request ended before it was whole.')
      report(error)
      return sentenceAnswer(500, 'Tareline could not answer this. The details are in the log.')
    }
  }
}
