import { type Http2Session, createSecureServer } from 'node:http2'
import type { Socket } from 'node:net'
import type { Context } from '#core/api/context.ts'
import type { Door } from '#core/door/door.ts'
import type { HouseFacts } from '#core/contracts/house.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import type { Certificates, Shown } from '#electron/house/certificates.ts'
import { makeHouseDoor } from '#electron/house/house-door.ts'
import { type OwnNames, addressesOf, hostsOf, ownNames } from '#electron/house/own-names.ts'
import { trustPages } from '#electron/house/trust-page.ts'
import { answerRequests, turnedAwayTo } from '#electron/web/answer.ts'
import { graceMs, guardConnections, limitedBy, listen } from '#electron/web/connections.ts'
import { type RequestLimits, usualLimits } from '#electron/web/limits.ts'
import type { WebFolders } from '#electron/web/web.ts'

/** A desk has one connection, or a few where a proxy or an old browser stands between. */
export const houseLimits: RequestLimits = {
  ...usualLimits,
  headerBytes: 64 * 1024,
  connections: 1024,
  muteConnections: 128,
}

/** How often the machine's names and the certificate's end are looked at. */
const lookMs = 60_000
/** Browsers that trust the house ask for it by HTTPS only from then on, s. */
const strictSeconds = 365 * 86_400
/** Requests of one desk at a time. */
const mostStreams = 100

/** Other programs on this machine may well be asked at localhost without HTTPS. */
const strictFor = (host: string) =>
  /^localhost(?::|$)/.test(host) ? {} : { 'strict-transport-security': `max-age=${strictSeconds}` }

/** Certificates are valid by the clocks of machines, whatever day the program is told that it is. */
const machineTime = (): number => Date.now()

export interface HouseOptions {
  readonly context: Context
  readonly folders: WebFolders
  readonly people: Door
  readonly certificates: Certificates
  readonly name: string
  readonly port: number
  readonly limits?: RequestLimits
  /** Told what has become wrong with the certificate, as a sentence, once each. */
  readonly warn?: (sentence: string) => void
  /** What the machine is called and reached by just now. */
  readonly look?: () => OwnNames
}

export interface RunningHouse {
  readonly port: number
  /** The context of the house's own window: its door, and what it is. */
  readonly context: Context
  facts(): HouseFacts
  /** Looks at the machine's names and the certificate now, which it else does once a minute. */
  lookAgain(): Promise<void>
  /**
   * Stops taking calls, lets running ones finish for two seconds, then closes. othersFollow: the app goes on, and its
   * own window is still told of what happens to the file.
   */
  close(options?: { readonly othersFollow?: boolean }): Promise<void>
}

/** Ends all connections of a server: at once those at rest, the others when they are answered or after the grace. */
function makeEnd(server: ReturnType<typeof createSecureServer>): () => Promise<void> {
  const sockets = new Set<Socket>()
  const sessions = new Set<Http2Session>()
  server.on('connection', (socket: Socket) => {
    sockets.add(socket)
    socket.once('close', () => sockets.delete(socket))
  })
  server.on('session', (session) => {
    sessions.add(session)
    session.once('close', () => sessions.delete(session))
  })
  return () =>
    new Promise((resolve) => {
      const hurry = setTimeout(() => {
        for (const session of sessions) session.destroy()
        for (const socket of sockets) socket.destroy()
      }, graceMs)
      server.close(() => {
        clearTimeout(hurry)
        resolve()
      })
      for (const session of sessions) session.close()
    })
}

/**
 * Serves the procedures and the screens to the desks of a fleet, over HTTPS on all addresses of this machine. Errors:
 * TarelineError `port`, `certificate`.
 */
export async function serveHouse({
  context,
  folders,
  people,
  certificates,
  name,
  port: wantedPort,
  limits = houseLimits,
  warn = () => {},
  look = () => ownNames(name),
}: HouseOptions): Promise<RunningHouse> {
  let own = look()
  let shown: Shown = await certificates.current(own, machineTime())
  let trouble: string | null = null
  const server = createSecureServer({
    ...limitedBy(limits),
    allowHTTP1: true,
    minVersion: 'TLSv1.2',
    cert: shown.certificate,
    key: shown.key,
    handshakeTimeout: limits.headersMs,
    settings: { maxConcurrentStreams: mostStreams, maxHeaderListSize: limits.headerBytes, enablePush: false },
  })
  server.setTimeout(limits.requestMs)
  const turnedAway = turnedAwayTo(context)
  guardConnections(server, limits, turnedAway)
  // Whoever does not trust the certificate yet hangs up in the middle; nothing of it concerns the house.
  server.on('tlsClientError', () => undefined)
  server.on('sessionError', () => turnedAway('malformed'))
  const end = makeEnd(server)
  const port = await listen(server, wantedPort, undefined)
  let hosts: ReadonlySet<string> = new Set(hostsOf(own, port))

  const facts = (): HouseFacts => ({
    addresses: addressesOf(own, port),
    fingerprint: shown.fingerprint,
    endsAt: toStoredInstant(shown.endsAt),
    authority: shown.authority,
    trouble,
  })
  // What the desks ask is answered by what their house is, too.
  const atHome: Context = { ...context, door: people, house: { facts } }
  const door = makeHouseDoor({ hosts: () => hosts, pages: trustPages(facts), context: atHome, people })
  server.on(
    'request',
    answerRequests({
      context: atHome,
      folders,
      limits,
      door,
      headersFor: strictFor,
    }),
  )

  const lookAgain = async (): Promise<void> => {
    own = look()
    hosts = new Set(hostsOf(own, port))
    try {
      const next = await certificates.current(own, machineTime())
      if (next !== shown) server.setSecureContext({ cert: next.certificate, key: next.key })
      shown = next
      trouble = null
    } catch (error) {
      if (!(error instanceof TarelineError)) throw error
      if (trouble !== error.message) warn(error.message)
      trouble = error.message
    }
  }
  await people.keepAddress(new URL(facts().addresses[0] ?? '').origin)
  const timer = setInterval(() => {
    lookAgain().catch(context.report)
  }, lookMs).unref()

  return {
    port,
    context: atHome,
    facts,
    lookAgain,
    close: ({ othersFollow = false } = {}) => {
      clearInterval(timer)
      // A followed stream would be waited for; where others go on, it is cut after the grace.
      if (!othersFollow) context.fleet.news.end()
      return end()
    },
  }
}
