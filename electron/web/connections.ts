import { phrase } from '#core/words/phrase.ts'
import type { Server } from 'node:net'
import type { Server as HttpServer } from 'node:http'
import type { Http2SecureServer } from 'node:http2'
import type { AddressInfo, Socket } from 'node:net'
import type { TurnedAway } from '#core/api/note-call.ts'
import { TarelineError } from '#core/words/problem.ts'
import type { WebRequest } from '#electron/web/door.ts'
import type { RequestLimits } from '#electron/web/limits.ts'

type TurnAway = (why: TurnedAway, status?: number) => void

/** Of connections that live at the same time none has the other end of another. */
const otherEnd = ({ remoteAddress, remotePort }: Pick<Socket, 'remoteAddress' | 'remotePort'>): string =>
  `${remoteAddress} ${remotePort}`

/**
 * Connections that say nothing would keep others out: of more than `most` the one that has waited longest is closed.
 */
function letMuteOnesGo(server: Server, most: number, onLetGo: () => void): void {
  const mute = new Map<string, Socket>()
  server.on('connection', (socket: Socket) => {
    const key = otherEnd(socket)
    mute.set(key, socket)
    socket.once('close', () => mute.delete(key))
    const [oldest] = mute.values()
    if (mute.size <= most || !oldest) return
    oldest.destroy()
    onLetGo()
  })
  server.on('request', ({ socket }: WebRequest) => mute.delete(otherEnd(socket)))
}

/** What Node's own reading of a request found wrong with it, and the status that tells the caller. */
function misreadOf(code: string): { why: TurnedAway; status: number; words: string } | undefined {
  if (code === 'ERR_HTTP_REQUEST_TIMEOUT') return { why: 'too-slow', status: 408, words: 'Request Timeout' }
  if (code === 'HPE_HEADER_OVERFLOW')
    return { why: 'headers-too-large', status: 431, words: 'Request Header Fields Too Large' }
  return code.startsWith('HPE_') ? { why: 'malformed', status: 400, words: 'Bad Request' } : undefined
}

/** What a server is made with so that it keeps the limits. */
export const limitedBy = (limits: RequestLimits) => ({
  maxHeaderSize: limits.headerBytes,
  headersTimeout: limits.headersMs,
  requestTimeout: limits.requestMs,
  keepAliveTimeout: 5000,
  connectionsCheckingInterval: limits.lookMs,
})

/** Has a server keep out connections beyond the limits, and whoever sends what is no request. */
export function guardConnections(server: HttpServer | Http2SecureServer, limits: RequestLimits, turnedAway: TurnAway) {
  const plain: Server = server
  plain.maxConnections = limits.connections
  plain.on('drop', () => turnedAway('too-many-connections'))
  letMuteOnesGo(plain, limits.muteConnections, () => turnedAway('too-many-connections'))
  plain.on('clientError', (error: NodeJS.ErrnoException, socket: Socket) => {
    const misread = misreadOf(error.code ?? '')
    if (misread) turnedAway(misread.why, misread.status)
    if (misread && socket.writable)
      socket.end(`HTTP/1.1 ${misread.status} ${misread.words}\r\nConnection: close\r\n\r\n`)
    else socket.destroy()
  })
}

/**
 * Begins to listen; answers the port. host: undefined for all addresses of this machine. Errors: TarelineError `port`.
 */
export function listen(server: Server, port: number, host: string | undefined): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      const taken = error.code === 'EADDRINUSE' || error.code === 'EACCES'
      reject(
        taken
          ? new TarelineError(
              'port',
              phrase('Port {port} is taken or not allowed. Choose another one with --port, or none for any free one.', {
                port,
              }),
              { cause: error },
            )
          : error,
      )
    })
    server.listen({ port, ...(host === undefined ? {} : { host }), exclusive: true }, () =>
      resolve((server.address() as AddressInfo).port),
    )
  })
}

/** How long requests that run may go on once the server is to end. */
export const graceMs = 2000
