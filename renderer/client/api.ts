import { speechHeaders } from '#core/words/catalogues.ts'
import { type ClientContext, type ClientLink, DynamicLink, createORPCClient } from '@orpc/client'
import { RPCLink as HttpLink } from '@orpc/client/fetch'
import { RPCLink as PortLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { createTanstackQueryUtils } from '@orpc/tanstack-query'
import type { contract } from '#core/contracts/contract.ts'
import { askingToAllow } from '#renderer/client/allowed-places.ts'
import { keepingAnswers } from '#renderer/client/kept-answers.ts'
import { callCredentials, passHeaders } from '#renderer/client/pass.ts'
import { renewing } from '#renderer/client/queries.ts'
import { noticingTheEnd } from '#renderer/client/standing.ts'

/** In the desktop window the app's own scheme serves the page, and the preload hands a port to the procedures. */
export const inDesktopWindow = () => location.protocol === 'tareline:'

let overPort: ClientLink<ClientContext> | undefined

/** A call on a closed port would wait for ever, so the link is made anew once its port has closed. */
function portLink(): ClientLink<ClientContext> {
  if (overPort) return overPort
  const { port1, port2 } = new MessageChannel()
  port1.addEventListener('close', () => {
    overPort = undefined
  })
  window.postMessage('tareline:port', location.origin, [port2])
  overPort = new PortLink({ port: port1, headers: speechHeaders })
  port1.start()
  return overPort
}

const httpLink: ClientLink<ClientContext> = new HttpLink({
  url: () => `${location.origin}/rpc`,
  headers: () => ({ ...passHeaders(), ...speechHeaders() }),
  fetch: (request, init) => fetch(request, { ...init, credentials: callCredentials() }),
})

/**
 * The way to the procedures from either window. Which one this is, is asked at each call and not while modules load:
 * a module with a pure function in it can then be read where there is no window.
 */
export const link: ClientLink<ClientContext> = new DynamicLink(() => (inDesktopWindow() ? portLink() : httpLink))

/** The typed procedures, to be called as functions: for streams and single steps. */
export const client: ContractRouterClient<typeof contract> = createORPCClient(
  renewing(askingToAllow(noticingTheEnd(keepingAnswers(link)))),
)

/** The same for screens: `queryOptions`, `mutationOptions` and `key` of each procedure. */
export const api = createTanstackQueryUtils(client)
