import { type ClientContext, type ClientLink, DynamicLink, createORPCClient } from '@orpc/client'
import { RPCLink as HttpLink } from '@orpc/client/fetch'
import { RPCLink as PortLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { createTanstackQueryUtils } from '@orpc/tanstack-query'
import type { contract } from '#core/contracts/contract.ts'
import { renewing } from '#renderer/client/queries.ts'

/** In the desktop window the app's own scheme serves the page, and the preload hands a port to the procedures. */
const inDesktopWindow = () => location.protocol === 'tareline:'

let overPort: ClientLink<ClientContext> | undefined

/** A call on a closed port would wait for ever, so the link is made anew once its port has closed. */
function portLink(): ClientLink<ClientContext> {
  if (overPort) return overPort
  const { port1, port2 } = new MessageChannel()
  port1.addEventListener('close', () => {
    overPort = undefined
  })
  window.postMessage('tareline:port', location.origin, [port2])
  overPort = new PortLink({ port: port1 })
  port1.start()
  return overPort
}

/** The way to the procedures from either window. */
export function makeLink(): ClientLink<ClientContext> {
  return inDesktopWindow() ? new DynamicLink(portLink) : new HttpLink({ url: `${location.origin}/rpc` })
}

/** The typed procedures, to be called as functions: for streams and single steps. */
export const client: ContractRouterClient<typeof contract> = createORPCClient(renewing(makeLink()))

/** The same for screens: `queryOptions`, `mutationOptions` and `key` of each procedure. */
export const api = createTanstackQueryUtils(client)
