import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { type ClientHttp2Session, type IncomingHttpHeaders, connect } from 'node:http2'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import type { ReadableStream } from 'node:stream/web'
import type { Client } from '#tests/api/windows.ts'

/** What a desk of a fleet trusts, and where it finds the house. */
export interface Desk {
  readonly origin: string
  readonly authority: string
}

export interface DeskAnswer {
  readonly status: number
  readonly headers: IncomingHttpHeaders
  readonly text: string
}

/** A real HTTP/2 connection that trusts the house's authority and nothing else. */
export const connectTo = ({ origin, authority }: Desk): ClientHttp2Session => connect(origin, { ca: authority })

/** One exchange over an open connection. */
export function askOver(
  session: ClientHttp2Session,
  path: string,
  { method = 'GET', headers = {}, body }: { method?: string; headers?: Record<string, string>; body?: string | Buffer } = {},
): Promise<DeskAnswer> {
  return new Promise((resolve, reject) => {
    const stream = session.request({ ':path': path, ':method': method, ...headers })
    let head: IncomingHttpHeaders = {}
    let status = 0
    let text = ''
    stream.setEncoding('utf8')
    stream.on('response', (answer) => {
      head = answer
      status = answer[':status'] ?? 0
    })
    stream.on('data', (part: string) => {
      text += part
    })
    stream.on('end', () => resolve({ status, headers: head, text }))
    stream.on('error', reject)
    stream.end(body)
  })
}

/** `fetch` over an open connection, as far as the procedures' client uses it. */
export const fetchOver =
  (session: ClientHttp2Session, headers: Readonly<Record<string, string>> = {}) =>
  async (request: Request): Promise<Response> => {
    const body = request.body === null ? undefined : Buffer.from(await request.arrayBuffer())
    const { signal } = request
    return await new Promise((resolve, reject) => {
      const { pathname, search } = new URL(request.url)
      const stream = session.request({
        ':path': pathname + search,
        ':method': request.method,
        ...Object.fromEntries(request.headers),
        ...headers,
      })
      const stop = () => stream.close()
      signal.addEventListener('abort', stop)
      stream.once('close', () => {
        signal.removeEventListener('abort', stop)
        reject(new Error('the house closed the request'))
      })
      stream.on('error', reject)
      stream.once('response', (answer) => {
        const head = new Headers()
        for (const [name, value] of Object.entries(answer))
          if (!name.startsWith(':') && value !== undefined) head.set(name, String(value))
        resolve(
          new Response(Readable.toWeb(stream) as ReadableStream as globalThis.ReadableStream<Uint8Array>, {
            status: answer[':status'] ?? 0,
            headers: head,
          }),
        )
      })
      stream.end(body)
    })
  }

/** The typed procedures over an open connection. */
export const clientOverHttp2 = (
  session: ClientHttp2Session,
  { origin }: Desk,
  headers?: Readonly<Record<string, string>>,
): Client => createORPCClient(new RPCLink({ url: `${origin}/rpc`, fetch: fetchOver(session, headers) }))
