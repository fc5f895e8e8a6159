import type { CustomScheme, Protocol } from 'electron/main'

export const appScheme = { protocol: 'tareline:', host: 'app', address: 'tareline://app/' } as const

/** The app's own scheme behaves as a secure web origin: relative addresses, fetch, streamed bodies, a strict policy. */
export const schemePrivileges: CustomScheme = {
  scheme: 'tareline',
  privileges: {
    standard: true,
    secure: true,
    supportFetchAPI: true,
    stream: true,
    corsEnabled: false,
    bypassCSP: false,
    allowServiceWorkers: false,
  },
}

/** Whether an address is a page of the app itself; an address that only mentions it is not. */
export function isAppAddress(address: string): boolean {
  const url = URL.parse(address)
  return (
    url !== null &&
    url.protocol === appScheme.protocol &&
    url.host === appScheme.host &&
    url.username === '' &&
    url.port === ''
  )
}

/** Lets the app's scheme be answered by `web`, for its one host only. */
export function serveScheme(protocol: Pick<Protocol, 'handle'>, web: (request: Request) => Promise<Response>): void {
  protocol.handle('tareline', async (request) =>
    isAppAddress(request.url) ? await web(request) : new Response(null, { status: 403 }),
  )
}
