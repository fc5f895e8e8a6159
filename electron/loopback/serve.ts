import { BodyLimitPlugin, RPCHandler } from '@orpc/server/node'
import type { StandardHandleResult } from '@orpc/server/standard'
import { type IncomingMessage, type Server, type ServerResponse, createServer } from 'node:http'
import type { AddressInfo, Socket } from 'node:net'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { ReadableStream } from 'node:stream/web'
import type { Context } from '#core/api/context.ts'
import type { TurnedAway } from '#core/api/note-call.ts'
import { router } from '#core/api/router.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type LoopbackLimits, makeGate, usualLimits, watchBody } from '#electron/loopback/gate.ts'
import { commonHeaders, entrance, noContent, sentenceAnswer } from '#electron/web/content-policy.ts'
import { type WebFolders, webHandler } from '#electron/web/web.ts'

/** The request as the web's own type; its body is streamed. */
function toWebRequest(incoming: IncomingMessage, host: string): Request {
  const headers = new Headers()
  for (const [name, value] of Object.entries(incoming.headers)) {
    for (const one of Array.isArray(value) ? value : [value ?? '']) headers.append(name, one)
  }
  const method = incoming.method ?? 'GET'
  const url = new URL(incoming.url ?? '/', `http://${host}`)
  if (method === 'GET' || method === 'HEAD') return new Request(url, { method, headers })
  return new Request(url, {
    method,
    headers,
    body: Readable.toWeb(incoming) as globalThis.ReadableStream<Uint8Array>,
    duplex: 'half',
  })
}

/** Sends the web's answer; a client that goes away ends the body's stream. */
async function sendWebResponse(response: Response, outgoing: ServerResponse): Promise<void> {
  outgoing.writeHead(response.status, [...response.headers].flat())
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

const graceMs = 2000

/** The procedures that take a picked file, and with it a longer body than the others. */
const uploadPaths: ReadonlySet<string> = new Set(['/rpc/attachment/add'])

export interface Loopback {
  /** The first one-time address that opens the app. */
  readonly address: string
  /** Another one, for another browser; an address that was not used yet is used up. */
  newAddress(): string
  readonly port: number
  /** Stops taking calls, lets running ones finish for two seconds, then closes. */
  close(): Promise<void>
}

function listen(server: Server, port: number): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      const taken = error.code === 'EADDRINUSE' || error.code === 'EACCES'
      reject(
        taken
          ? new TarelineError(
              'port',
              `Port ${port} is taken or not allowed. Choose another one with --port, or none for any free one.`,
              { cause: error },
            )
          : error,
      )
    })
    server.listen({ port, host: '127.0.0.1', exclusive: true }, () => resolve((server.address() as AddressInfo).port))
  })
}

function close(server: Server): Promise<void> {
  return new Promise((resolve) => {
    const hurry = setTimeout(() => server.closeAllConnections(), graceMs)
    server.close(() => {
      clearTimeout(hurry)
      resolve()
    })
    server.closeIdleConnections()
  })
}

/** Connections that say nothing would keep others out: of more than `most` the one that has waited longest is closed. */
function letMuteOnesGo(server: Server, most: number, onLetGo: () => void): void {
  const mute = new Set<Socket>()
  server.on('connection', (socket) => {
    mute.add(socket)
    socket.once('close', () => mute.delete(socket))
    const [oldest] = mute
    if (mute.size <= most || !oldest) return
    oldest.destroy()
    onLetGo()
  })
  server.on('request', ({ socket }) => mute.delete(socket))
}

/** Statuses with which the procedures and files turn a request away, and what the log calls that. */
function whyOf(status: number, isCall: boolean): TurnedAway | undefined {
  if (status === 400) return 'not-a-call'
  if (status === 404) return isCall ? 'unknown-procedure' : 'unknown-page'
  if (status === 405) return 'method'
  return status === 413 || status === 429 ? 'too-large' : undefined
}

/** What Node's own reading of a request found wrong with it, and the status that tells the caller. */
function misreadOf(code: string): { why: TurnedAway; status: number; words: string } | undefined {
  if (code === 'ERR_HTTP_REQUEST_TIMEOUT') return { why: 'too-slow', status: 408, words: 'Request Timeout' }
  if (code === 'HPE_HEADER_OVERFLOW')
    return { why: 'headers-too-large', status: 431, words: 'Request Header Fields Too Large' }
  return code.startsWith('HPE_') ? { why: 'malformed', status: 400, words: 'Bad Request' } : undefined
}

/**
 * Lets uploads in one after another, since the body of one lies in memory as a whole before its procedure sees it. A
 * turn ends with its answer, also where that was given for it, as to one that came too slowly: its body is never whole.
 */
function oneAtATime() {
  let last: Promise<unknown> = Promise.resolve()
  return <T>(response: ServerResponse, work: () => Promise<T>): Promise<T> => {
    const before = last
    const turn = before.then(work)
    const answered = new Promise<void>((end) => {
      response.once('close', end)
    })
    last = before.then(() => Promise.race([turn.catch(() => undefined), answered]))
    return turn
  }
}

/**
 * Serves the procedures and the screens to one browser on this machine; whoever is turned away is logged. Errors:
 * TarelineError `port`.
 */
export async function serveLoopback(
  context: Context,
  folders: WebFolders,
  wantedPort = 0,
  limits: LoopbackLimits = usualLimits,
): Promise<Loopback> {
  const handlerUpTo = (maxBodySize: number) =>
    new RPCHandler(router, {
      plugins: [new BodyLimitPlugin({ maxBodySize })],
      rootInterceptors: [async ({ next }) => withWholeForm(await next())],
    })
  const calls = handlerUpTo(limits.callBytes)
  const uploads = handlerUpTo(limits.uploadBytes)
  const inTurn = oneAtATime()
  const web = webHandler(folders, context.report)
  const { log } = context
  const turnedAway = (why: TurnedAway, status?: number) =>
    log.write({ what: 'turned-away', why, ...(status === undefined ? {} : { status }) })
  let answer: (request: IncomingMessage, response: ServerResponse) => Promise<void> = async (_, response) => {
    response.destroy()
  }

  const server = createServer({
    maxHeaderSize: limits.headerBytes,
    headersTimeout: limits.headersMs,
    requestTimeout: limits.requestMs,
    keepAliveTimeout: 5000,
    connectionsCheckingInterval: limits.lookMs,
  })
  server.maxConnections = limits.connections
  server.on('drop', () => turnedAway('too-many-connections'))
  letMuteOnesGo(server, limits.muteConnections, () => turnedAway('too-many-connections'))
  server.on('clientError', (error: NodeJS.ErrnoException, socket: Socket) => {
    const misread = misreadOf(error.code ?? '')
    if (misread) turnedAway(misread.why, misread.status)
    if (misread && socket.writable)
      socket.end(`HTTP/1.1 ${misread.status} ${misread.words}\r\nConnection: close\r\n\r\n`)
    else socket.destroy()
  })
  server.on('request', (request, response) => {
    answer(request, response).catch((error: unknown) => {
      if (!request.destroyed && !response.destroyed) context.report(error)
      response.destroy()
    })
  })
  const port = await listen(server, wantedPort)
  const host = `127.0.0.1:${port}`
  const gate = makeGate(host)

  answer = async (request, response) => {
    const passage = gate.check(request)
    if (passage.to === 'refused') {
      turnedAway(passage.why, passage.status)
      // What a refused caller still sends is not worth reading.
      response.setHeader('connection', 'close')
      return await sendWebResponse(sentenceAnswer(passage.status, passage.sentence), response)
    }
    if (passage.to === 'enter') return await sendWebResponse(entrance(passage.pass, passage.cookie), response)
    const isCall = request.url?.startsWith('/rpc/') === true
    watchBody(request, limits, () => {
      turnedAway('too-slow', 408)
      if (response.headersSent) request.destroy()
      else response.writeHead(408, { ...commonHeaders, connection: 'close' }).end()
    })
    response.once('finish', () => {
      const why = whyOf(response.statusCode, isCall)
      if (why) turnedAway(why, response.statusCode)
    })
    if (isCall) {
      for (const [name, value] of Object.entries(commonHeaders)) response.setHeader(name, value)
      response.setHeader('cache-control', 'no-store')
      response.setHeader('content-security-policy', noContent)
      const handle = (procedures: typeof calls) => procedures.handle(request, response, { prefix: '/rpc', context })
      const { matched } = await (uploadPaths.has(request.url ?? '')
        ? inTurn(response, () => handle(uploads))
        : handle(calls))
      if (!matched) await sendWebResponse(sentenceAnswer(404, 'There is no such procedure.'), response)
      return
    }
    await sendWebResponse(await web(toWebRequest(request, host)), response)
  }

  return {
    address: gate.newAddress(),
    newAddress: gate.newAddress,
    port,
    close: () => {
      // A followed stream would be waited for.
      context.fleet.news.end()
      return close(server)
    },
  }
}
