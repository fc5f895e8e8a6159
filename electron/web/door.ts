import type { IncomingMessage, ServerResponse } from 'node:http'
import type { Http2ServerRequest, Http2ServerResponse } from 'node:http2'
import type { Context } from '#core/api/context.ts'
import type { TurnedAway } from '#core/api/note-call.ts'

/** A request and its answer over HTTP/1.1 or HTTP/2: Node gives both the same face. */
export type WebRequest = IncomingMessage | Http2ServerRequest
export type WebResponse = ServerResponse | Http2ServerResponse

type Refusal = 400 | 401 | 403 | 404 | 405 | 429

export type Passage =
  /**
   * origin: of the address that was asked. context: what this caller's procedures reach, where it is not everybody's.
   */
  | { readonly to: 'app'; readonly origin: string; readonly context?: Context }
  /** The door answers itself, as with a page that is there before anybody was let in. */
  | { readonly to: 'page'; readonly page: Response }
  | {
      readonly to: 'refused'
      readonly why: TurnedAway
      readonly status: Refusal
      readonly sentence: string
      /** The same as the window's client of the procedures reads it, as JSON. */
      readonly body?: string
    }

/** Who may come in: the one browser on this machine, or the desks of a fleet. */
export interface Door {
  check(request: WebRequest, response: WebResponse): Passage | Promise<Passage>
}

/** The host that a request is for; undefined where it names none, or two. HTTP/2 has a place of its own for it. */
export function hostOf({ headers }: WebRequest): string | undefined {
  const [host, authority] = [headers.host, headers[':authority']]
  if (typeof authority !== 'string') return host
  return host === undefined || host === authority ? authority : undefined
}

export const refuse = (why: TurnedAway, status: Refusal, sentence: string, body?: string): Passage => ({
  to: 'refused',
  why,
  status,
  sentence,
  ...(body === undefined ? {} : { body }),
})

/** Whether a path is one of the fleet's own data, and not one of the app's files. */
export const isCall = (pathname: string) => pathname.startsWith('/rpc/') || pathname.startsWith('/inbox/')

/**
 * The address of a request; null where it cannot be read. A path and nothing else is one: a whole address, as a proxy
 * is asked for, could name another host than the request does.
 */
export const readAddress = (url: string, origin: string): URL | null =>
  /^\/(?!\/)/.test(url) ? URL.parse(url, origin) : null
