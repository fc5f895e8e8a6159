import { speechHeader } from '#core/words/catalogues.ts'
import { BodyLimitPlugin, RPCHandler } from '@orpc/server/node'
import type { StandardHandleResult } from '@orpc/server/standard'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { ReadableStream } from 'node:stream/web'
import type { Context } from '#core/api/context.ts'
import type { TurnedAway } from '#core/api/note-call.ts'
import { router } from '#core/api/router.ts'
import { hearingSpeech, workSpoken } from '#core/api/speaking.ts'
import { commonHeaders, noContent, sentenceAnswer } from '#electron/web/content-policy.ts'
import { type Door, type WebRequest, type WebResponse, hostOf } from '#electron/web/door.ts'
import { type RequestLimits, watchBody } from '#electron/web/limits.ts'
import { type WebFolders, webHandler } from '#electron/web/web.ts'

/** HTTP/2 sends its request line as headers with names of this kind, which the web's own type of headers refuses. */
const isOfRequestLine = (name: string) => name.startsWith(':')

/** The request as the web's own type; its body is streamed. */
function toWebRequest(incoming: WebRequest, origin: string): Request {
  const headers = new Headers()
  for (const [name, value] of Object.entries(incoming.headers)) {
    if (isOfRequestLine(name)) continue
    for (const one of Array.isArray(value) ? value : [value ?? '']) headers.append(name, one)
  }
  const method = incoming.method ?? 'GET'
  const url = new URL(incoming.url ?? '/', origin)
  if (method === 'GET' || method === 'HEAD') return new Request(url, { method, headers })
  return new Request(url, {
    method,
    headers,
    body: Readable.toWeb(incoming) as globalThis.ReadableStream<Uint8Array>,
    duplex: 'half',
  })
}

/** Sends the web's answer; a client that goes away ends the body's stream. */
async function sendWebResponse(response: Response, outgoing: WebResponse): Promise<void> {
  for (const [name, value] of response.headers) outgoing.setHeader(name, value)
  const cookies = response.headers.getSetCookie()
  if (cookies.length > 0) outgoing.setHeader('set-cookie', cookies)
  outgoing.statusCode = response.status
  if (response.body) await pipeline(Readable.fromWeb(response.body as ReadableStream), outgoing)
  else outgoing.end()
}

/**
 * An answer that holds a file, with its body made whole beforehand. Node's own stream of a form goes on writing after
 * its reader has left, and the rejection that nobody awaits ends the program (ERR_INVALID_STATE, Node 24).
 */
async function withWholeForm<T extends StandardHandleResult>(result: T): Promise<T> {
  const { response } = result
  if (!(response?.body instanceof FormData)) return result
  const form = new Response(response.body)
  const whole = await form.blob()
  const headers = { 'content-type': form.headers.get('content-type') ?? '', 'content-length': String(whole.size) }
  return { ...result, response: { ...response, headers: { ...response.headers, ...headers }, body: whole.stream() } }
}

/** The procedures that take a picked file, and with it a longer body than the others. */
const uploadPaths: ReadonlySet<string> = new Set(['/rpc/attachment/add'])

/** Statuses with which the procedures and files turn a request away, and what the log calls that. */
function whyOf(status: number, isCall: boolean): TurnedAway | undefined {
  if (status === 400) return 'not-a-call'
  if (status === 404) return isCall ? 'unknown-procedure' : 'unknown-page'
  if (status === 405) return 'method'
  return status === 413 || status === 429 ? 'too-large' : undefined
}

/**
 * Lets uploads in one after another, since the body of one lies in memory as a whole before its procedure sees it. A
 * turn ends with its answer, also where that was given for it, as to one that came too slowly: its body is never whole.
 */
function oneAtATime() {
  let last: Promise<unknown> = Promise.resolve()
  return <T>(response: WebResponse, work: () => Promise<T>): Promise<T> => {
    const before = last
    const turn = before.then(work)
    const answered = new Promise<void>((end) => {
      response.once('close', end)
    })
    last = before.then(() => Promise.race([turn.catch(() => undefined), answered]))
    return turn
  }
}

/** Ends the connection after an answer; over HTTP/2, whose connection others share, only this one request. */
function letGoAfter(request: WebRequest, response: WebResponse): void {
  if ('stream' in request) response.once('finish', () => request.stream.close())
  else response.setHeader('connection', 'close')
}

export interface Answering {
  readonly context: Context
  readonly folders: WebFolders
  readonly limits: RequestLimits
  readonly door: Door
  /** Headers that an answer to a host carries beside the common ones. */
  readonly headersFor?: (host: string) => Readonly<Record<string, string>>
}

export const turnedAwayTo =
  ({ log }: Pick<Context, 'log'>) =>
  (why: TurnedAway, status?: number): void =>
    log.write({ what: 'turned-away', why, ...(status === undefined ? {} : { status }) })

/**
 * Answers every request that comes in over HTTP, whoever serves it: past the door, then by a procedure, a picked file's
 * inbox, or one of the app's own files. Whoever is turned away is logged.
 */
export function answerRequests({
  context,
  folders,
  limits,
  door,
  headersFor = () => ({}),
}: Answering): (request: WebRequest, response: WebResponse) => void {
  const handlerUpTo = (maxBodySize: number) =>
    new RPCHandler(router, {
      plugins: [new BodyLimitPlugin({ maxBodySize }), hearingSpeech()],
      rootInterceptors: [
        async ({ next, request, ...call }) => {
          const headers = Object.fromEntries(Object.entries(request.headers).filter(([name]) => !isOfRequestLine(name)))
          return withWholeForm(await next({ ...call, request: { ...request, headers } }))
        },
      ],
    })
  const calls = handlerUpTo(limits.callBytes)
  const uploads = handlerUpTo(limits.uploadBytes)
  const inTurn = oneAtATime()
  const web = webHandler(folders, context.report)
  const turnedAway = turnedAwayTo(context)

  const answer = async (request: WebRequest, response: WebResponse): Promise<void> => {
    for (const [name, value] of Object.entries(headersFor(hostOf(request) ?? ''))) response.setHeader(name, value)
    const passage = await workSpoken(request.headers[speechHeader], () => door.check(request, response))
    if (passage.to === 'refused') {
      turnedAway(passage.why, passage.status)
      // What a refused caller still sends is not worth reading.
      letGoAfter(request, response)
      return await sendWebResponse(sentenceAnswer(passage.status, passage.sentence, passage.body), response)
    }
    if (passage.to === 'page') return await sendWebResponse(passage.page, response)
    const isProcedure = request.url?.startsWith('/rpc/') === true
    watchBody(request, limits, () => {
      turnedAway('too-slow', 408)
      if (response.headersSent) {
        request.destroy()
        return
      }
      letGoAfter(request, response)
      for (const [name, value] of Object.entries(commonHeaders)) response.setHeader(name, value)
      response.statusCode = 408
      response.end()
    })
    response.once('finish', () => {
      const why = whyOf(response.statusCode, isProcedure)
      if (why) turnedAway(why, response.statusCode)
    })
    if (isProcedure) {
      for (const [name, value] of Object.entries(commonHeaders)) response.setHeader(name, value)
      response.setHeader('cache-control', 'no-store')
      response.setHeader('content-security-policy', noContent)
      const handle = (procedures: typeof calls) =>
        procedures.handle(request, response, { prefix: '/rpc', context: passage.context ?? context })
      const { matched } = await (uploadPaths.has(request.url ?? '')
        ? inTurn(response, () => handle(uploads))
        : handle(calls))
      if (!matched) await sendWebResponse(sentenceAnswer(404, 'There is no such procedure.'), response)
      return
    }
    await sendWebResponse(await web(toWebRequest(request, passage.origin)), response)
  }

  return (request, response) => {
    answer(request, response).catch((error: unknown) => {
      const answered = 'stream' in response ? response.stream : response
      if (!request.destroyed && !answered.destroyed) context.report(error)
      answered.destroy()
    })
  }
}
