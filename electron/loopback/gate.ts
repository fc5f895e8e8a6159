import { randomBytes, timingSafeEqual } from 'node:crypto'
import { passName } from '#core/contracts/pass.ts'
import { entrance } from '#electron/web/content-policy.ts'
import { type Door, isCall, readAddress, refuse } from '#electron/web/door.ts'

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

/**
 * Lets only the one browser in that was given the address. A one-time token is changed for two secrets: a cookie that
 * scripts cannot read and other sites cannot send, for the pages; and a pass that the page keeps under its own origin
 * and sends as a header, for every call. Cookies know no port, so that a server on another one may be sent ours: with
 * it alone it gets the app's own files and nothing of the fleet. A foreign Host (a name rebound to this machine) or
 * Origin is turned away first.
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

  const check: Door['check'] = ({ headers, method, url = '' }) => {
    if (headers.host !== host) return refuse('host', 403, 'This address does not belong to Tareline.')
    if (headers.origin !== undefined && headers.origin !== origin)
      return refuse('origin', 403, 'Another site may not use Tareline.')
    const address = readAddress(url, origin)
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
      return {
        to: 'page',
        page: entrance(pass, `${cookieName}=${cookie}; Path=/; HttpOnly; SameSite=Strict`),
      }
    }
    const site = headers['sec-fetch-site']
    if (site !== undefined && site !== 'same-origin' && site !== 'none')
      return refuse('site', 403, 'Another site may not use Tareline.')
    const way = 'Open Tareline with the address it showed when it started, or press Enter there for a new one.'
    if (!isCall(pathname))
      return hasCookie(cookieName, cookie, headers.cookie) ? { to: 'app', origin } : refuse('cookie', 401, way)
    const offered = headers[passName]
    if (typeof offered !== 'string' || !same(offered, pass)) return refuse('pass', 401, way)
    return method === 'POST' || pathname.startsWith('/inbox/')
      ? { to: 'app', origin }
      : refuse('method', 405, 'A procedure is only called by POST.')
  }

  return { newAddress, check }
}
