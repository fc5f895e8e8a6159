import type { IncomingMessage, ServerResponse } from 'node:http'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { ReadableStream } from 'node:stream/web'

/** The request as the web's own type; its body is streamed. */
export function toWebRequest(incoming: IncomingMessage, host: string): Request {
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
export async function sendWebResponse(response: Response, outgoing: ServerResponse): Promise<void> {
  outgoing.writeHead(response.status, [...response.headers].flat())
  if (response.body) await pipeline(Readable.fromWeb(response.body as ReadableStream), outgoing)
  else outgoing.end()
}
