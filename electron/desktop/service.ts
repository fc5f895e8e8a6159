import { RPCHandler } from '@orpc/server/message-port'
import type { Context } from '#core/api/context.ts'
import { router } from '#core/api/router.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { demoFile } from '#electron/demo-file.ts'
import type { ServiceNews, ServiceOrder, ServiceStart } from '#electron/desktop/service-messages.ts'
import { report } from '#electron/report.ts'
import { openSession } from '#electron/session.ts'

/**
 * The core in a process of its own: SQLite blocks the thread it runs on, and the main process must stay free for the
 * windows. It knows only ports that the main process handed over.
 */
const main = process.parentPort
const tell = (news: ServiceNews) => main.postMessage(news)

async function open(): Promise<Context | undefined> {
  try {
    const { fleetFolder, ...start } = JSON.parse(process.argv[2] ?? '{}') as ServiceStart
    return await openSession({ ...start, demo: demoFile(fleetFolder) })
  } catch (error) {
    if (!(error instanceof TarelineError)) report(error)
    tell({ news: 'refused', sentence: error instanceof TarelineError ? error.message : 'Tareline could not start. The details are in the log.' })
    return undefined
  }
}

async function serve(): Promise<void> {
  const context = await open()
  if (!context) return
  const procedures = new RPCHandler(router)
  main.on('message', ({ data, ports: [port] }: { data: ServiceOrder; ports: Electron.MessagePortMain[] }) => {
    if (data === 'end') {
      void context.fleet.close().catch(report).finally(() => process.exit(0))
    } else if (port) {
      procedures.upgrade(port, { context })
      port.start()
    }
  })
  tell({ news: 'ready' })
}

// A malformed message on a port is nobody's awaited call; it is taken down and the service goes on.
process.on('unhandledRejection', report)
void serve()
