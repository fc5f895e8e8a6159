import { type Server, createServer } from 'node:http'
import type { Context } from '#core/api/context.ts'
import { makeGate } from '#electron/loopback/gate.ts'
import { answerRequests, turnedAwayTo } from '#electron/web/answer.ts'
import { graceMs, guardConnections, limitedBy, listen } from '#electron/web/connections.ts'
import { type RequestLimits, usualLimits } from '#electron/web/limits.ts'
import type { WebFolders } from '#electron/web/web.ts'

export interface Loopback {
  /** The first one-time address that opens the app. */
  readonly address: string
  /** Another one, for another browser; an address that was not used yet is used up. */
  newAddress(): string
  readonly port: number
  /** Stops taking calls, lets running ones finish for two seconds, then closes. */
  close(): Promise<void>
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

/**
 * Serves the procedures and the screens to one browser on this machine. Errors: TarelineError `port`.
 */
export async function serveLoopback(
  context: Context,
  folders: WebFolders,
  wantedPort = 0,
  limits: RequestLimits = usualLimits,
): Promise<Loopback> {
  const server = createServer(limitedBy(limits))
  guardConnections(server, limits, turnedAwayTo(context))
  // Nobody knows the port before the gate stands.
  const port = await listen(server, wantedPort, '127.0.0.1')
  const gate = makeGate(`127.0.0.1:${port}`)
  server.on('request', answerRequests({ context, folders, limits, door: gate }))

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
