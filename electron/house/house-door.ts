import { refusedBody } from '#core/api/at-the-door.ts'
import type { Context } from '#core/api/context.ts'
import type { Door as PeopleDoor } from '#core/door/door.ts'
import { type Door, type WebResponse, hostOf, isCall, readAddress, refuse } from '#electron/web/door.ts'

/** Pages that are there for whoever has not signed in yet, by their paths; undefined for any other. */
export type OpenPages = (pathname: string) => Response | undefined

interface HouseDoor {
  /** Each host of the house with its port, as it is called just now. */
  readonly hosts: () => ReadonlySet<string>
  readonly pages: OpenPages
  readonly context: Context
  readonly people: Pick<PeopleDoor, 'admit'>
}

/** Picked files are imported by procedures; who may send some may ask for a look at a foreign one. */
const ofInboxes = 'foreign.preview'

const procedureOf = (pathname: string): string =>
  pathname.startsWith('/inbox/') ? ofInboxes : pathname.slice('/rpc/'.length).split('/').join('.')

const addCookie = (response: WebResponse) => (text: string) => {
  const before = response.getHeader('set-cookie')
  response.setHeader('set-cookie', [...(Array.isArray(before) ? before : []), text])
}

/**
 * Lets the desks of a fleet in: whoever comes under one of the house's own names gets the app's files, which are no
 * secret; the fleet's data only who has signed in and may have it. Another site's pages are turned away before any
 * cookie is looked at.
 */
export function makeHouseDoor({ hosts, pages, context, people }: HouseDoor): Door {
  return {
    check: async (request, response) => {
      const { headers, method, url = '' } = request
      const host = hostOf(request)
      if (host === undefined || !hosts().has(host))
        return refuse('host', 403, 'This address does not belong to this house.')
      const origin = `https://${host}`
      if (headers.origin !== undefined && headers.origin !== origin)
        return refuse('origin', 403, 'Another site may not use Tareline.')
      const address = readAddress(url, origin)
      if (address === null) return refuse('address', 400, 'This address cannot be read.')
      const { pathname } = address
      const site = headers['sec-fetch-site']
      const isOwn = site === undefined || site === 'same-origin' || site === 'none'
      if (!isCall(pathname)) {
        // A link to the house may stand anywhere, as in a message; what it leads to is shown to no other site.
        const isVisit = isOwn || headers['sec-fetch-mode'] === 'navigate'
        if (!isVisit) return refuse('site', 403, 'Another site may not use Tareline.')
        const page = method === 'GET' ? pages(pathname) : undefined
        return page ? { to: 'page', page } : { to: 'app', origin }
      }
      if (!isOwn) return refuse('site', 403, 'Another site may not use Tareline.')
      if (method !== 'POST' && !pathname.startsWith('/inbox/'))
        return refuse('method', 405, 'A procedure is only called by POST.')
      const { cookie } = headers
      const from = request.socket.remoteAddress ?? ''
      const admission = await people.admit({ cookie, from, procedure: procedureOf(pathname) })
      if (admission.to === 'refused')
        return refuse(
          admission.status === 404 ? 'unknown-procedure' : 'session',
          admission.status,
          admission.sentence,
          pathname.startsWith('/rpc/') ? refusedBody(admission) : undefined,
        )
      const caller = {
        from,
        origin,
        browser: headers['user-agent'] ?? '',
        cookie,
        setCookie: addCookie(response),
        session: admission.session,
      }
      return { to: 'app', origin, context: { ...context, caller } }
    },
  }
}
