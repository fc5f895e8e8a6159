import { createORPCClient } from '@orpc/client'
import { RPCLink as HttpLink } from '@orpc/client/fetch'
import { RPCLink as PortLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { RPCHandler } from '@orpc/server/message-port'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { router } from '#core/api/router.ts'
import { hearingSpeech } from '#core/api/speaking.ts'
import type { contract } from '#core/contracts/contract.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { type RunningApp, enter } from '#tests/loopback/running-app.ts'

export type Client = ContractRouterClient<typeof contract>

/** The two ways in which a window reaches the procedures. */
export const ways = ['HTTP', 'a message port'] as const

/**
 * A client of the running app over one of the ways, and how to let go of it; what lets it in, where the one-time
 * address has been used; what its calls say besides.
 */
export async function clientOver(
  way: (typeof ways)[number],
  app: RunningApp,
  known?: Admission,
  headers: Readonly<Record<string, string>> = {},
): Promise<{ client: Client; close: () => void; port?: MessagePort; known?: Admission }> {
  if (way === 'HTTP') {
    const mine = known ?? (await enter(app))
    return {
      client: createORPCClient(new HttpLink({ url: `${app.origin}/rpc`, headers: { ...mine, ...headers } })),
      close: () => {},
      known: mine,
    }
  }
  const { port1, port2 } = new MessageChannel()
  new RPCHandler(router, { plugins: [hearingSpeech()] }).upgrade(port2, { context: app.context })
  port2.start()
  const client: Client = createORPCClient(new PortLink({ port: port1, headers }))
  port1.start()
  return { client, close: () => port1.close(), port: port1 }
}

/** Brings the small fleet in, as a window would from a folder. */
export async function bringInSmallFleet({ folder: home }: RunningApp, { folder }: Client): Promise<void> {
  const from = join(home, 'small')
  mkdirSync(from)
  writeFiles(from, smallFleet())
  const steps = await folder.bringIn({ folder: from })
  for (let step = await steps.next(); !step.done; ) step = await steps.next()
}
