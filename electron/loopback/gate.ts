import { randomBytes, timingSafeEqual } from 'node:crypto'
import type { IncomingMessage } from 'node:http'
import type { TurnedAway } from '#core/api/note-call.ts'
import { passName } from '#core/contracts/pass.ts'

type Refusal = 400 | 401 | 403 | 405

export type Passage =
  | { readonly to: 'app' }
  /** The one-time address was used: the browser gets its cookie and the pass of its calls, and goes on to the app. */
  | { readonly to: 'enter'; readonly cookie: string; readonly pass: string }
  | { readonly to: 'refused'; readonly why: TurnedAway; readonly status: Refusal; readonly sentence: string }

const secret = () => randomBytes(32).toString('base64url')

function same(a: string, b: string): boolean {
  const [left, right] = [Buffer.from(a), Buffer.from(b)]
  return left.length === right.length && timingSafeEqual(left, right)
}

/** Whether one of the cookies has this name and value: a neighbor's of the same name may stand before ours. */
const hasCookie = (name: string, value: string, header: string | undefined): boolean =>
  (header ?? '').split(';').some((pair) => {
    const at = pair.indexOf('=')
    return at > 0 && pair.slice(0, at).trim() === name && same(pair.slice(at + 1).trim(), value)
  })

const refuse = (why: TurnedAway, status: Refusal, sentence: string): Passage => ({
  to: 'refused',
  why,
  status,
  sentence,
})

const isCall = (pathname: string) => pathname.startsWith('/rpc/') || pathname.startsWith('/inbox/')

/**
 * Lets only the one browser in that was given the address. A one-time token is changed for two secrets: a cookie that
 * scripts cannot read and other sites cannot send, for the pages; and a pass that the page keeps under its own origin
 * and sends as a header, for every call. Cookies know no port, so that a server on another one may be sent ours: with it
 * alone it gets the app's own files and nothing of the fleet. A foreign Host (a name rebound to this machine) or Origin
 * is turned away first.
 */
export function makeGate(host: string) {
  const origin = `http://${host}`
  let token: string | undefined
  const cookie = secret()
  const pass = secret()
  // A name of its own keeps two running copies apart.
  const cookieName = `tareline-${randomBytes(6).toString('hex')}`

  /** An address that opens once; one that was given before and not used no longer does. */
  const newAddress = () => {
    token = secret()
    return `${origin}/enter?token=${token}`
  }

  const check = ({ headers, method, url = '' }: IncomingMessage): Passage => {
    if (headers.host !== host) return refuse('host', 403, 'This address does not belong to Tareline.')
    if (headers.origin !== undefined && headers.origin !== origin)
      return refuse('origin', 403, 'Another site may not use Tareline.')
    // A path and nothing else: a whole address, as a proxy is asked for, could name another host than the Host header
    // does.
    const address = /^\/(?!\/)/.test(url) ? URL.parse(url, origin) : null
    if (address === null) return refuse('address', 400, 'This address cannot be read.')
    const { pathname, searchParams } = address
    if (pathname === '/enter') {
      const offered = searchParams.get('token') ?? ''
      if (method !== 'GET' || token === undefined || !same(offered, token)) {
        return refuse(
          'token',
          403,
          'This address has been used already or is not complete. Press Enter where Tareline was started for a new ' +
            'one. If it has been used and not by you, end Tareline there and start it again.',
        )
      }
      token = undefined
      return { to: 'enter', cookie: `${cookieName}=${cookie}; Path=/; HttpOnly; SameSite=Strict`, pass }
    }
    const site = headers['sec-fetch-site']
    if (site !== undefined && site !== 'same-origin' && site !== 'none')
      return refuse('site', 403, 'Another site may not use Tareline.')
    const way = 'Open Tareline with the address it showed when it started, or press Enter there for a new one.'
    if (!isCall(pathname))
      return hasCookie(cookieName, cookie, headers.cookie) ? { to: 'app' } : refuse('cookie', 401, way)
    const offered = headers[passName]
    if (typeof offered !== 'string' || !same(offered, pass)) return refuse('pass', 401, way)
    return method === 'POST' || pathname.startsWith('/inbox/')
      ? { to: 'app' }
      : refuse('method', 405, 'A procedure is only called by POST.')
  }

  return { newAddress, check }
}

/** How much one caller may ask of the loopback window before it is turned away. */
export interface LoopbackLimits {
  /** Body of one call; picked files have their own, see the inboxes. */
  readonly callBytes: number
  /** Body of a call that carries a picked file, with what its form adds. */
  readonly uploadBytes: number
  /** Head of a request, with all the cookies that neighbors on other ports may have set. */
  readonly headerBytes: number
  /** For the head of a request. */
  readonly headersMs: number
  /** Within each such span a body must grow by `bodyBytes`, or end. */
  readonly bodyMs: number
  readonly bodyBytes: number
  /** For a whole request, however steadily it comes. */
  readonly requestMs: number
  readonly connections: number
  /** Of those, how many may have sent no request yet; of more the oldest is let go. */
  readonly muteConnections: number
  /** How often the server looks for requests that are late. */
  readonly lookMs: number
}

export const usualLimits: LoopbackLimits = {
  callBytes: 4 * 1024 ** 2,
  uploadBytes: 21 * 1024 ** 2,
  headerBytes: 1024 ** 2,
  headersMs: 10_000,
  bodyMs: 10_000,
  bodyBytes: 1024,
  requestMs: 600_000,
  connections: 256,
  muteConnections: 32,
  lookMs: 5000,
}

/**
 * Calls `late` once when the body of a request comes in more slowly than the limits allow, as from a caller who means
 * to keep the connection. What has been received is counted on the socket, so that whoever reads the body is not
 * disturbed.
 */
export function watchBody(
  request: IncomingMessage,
  { bodyMs, bodyBytes }: Pick<LoopbackLimits, 'bodyMs' | 'bodyBytes'>,
  late: () => void,
): void {
  const { socket } = request
  let seen = socket.bytesRead
  const timer = setInterval(() => {
    if (request.complete || request.destroyed) return clearInterval(timer)
    // A body that nobody reads yet stops at the window's own edge, which is no fault of the caller.
    if (request.readableLength >= request.readableHighWaterMark) return
    if (socket.bytesRead - seen < bodyBytes) {
      clearInterval(timer)
      late()
    }
    seen = socket.bytesRead
  }, bodyMs)
  timer.unref()
  request.once('close', () => clearInterval(timer))
}
