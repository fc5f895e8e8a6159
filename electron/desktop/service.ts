import { phrase } from '#core/words/phrase.ts'
import { RPCHandler } from '@orpc/server/message-port'
import { existsSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { router } from '#core/api/router.ts'
import { hearingSpeech } from '#core/api/speaking.ts'
import { TarelineError } from '#core/words/problem.ts'
import { demoFile } from '#electron/demo-file.ts'
import type { ServiceNews, ServiceOrder, ServiceStart } from '#electron/desktop/service-process.ts'
import { sharingFrom } from '#electron/house/sharing.ts'
import { openLog, startOf } from '#electron/log/log.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'
import { logFolder, openSession, reportTo } from '#electron/session.ts'

/**
 * The core in a process of its own: SQLite blocks the thread it runs on, and the main process must stay free for the
 * windows. It knows only ports that the main process handed over.
 */
const main = process.parentPort
keepFilesPrivate()
const log = openLog(logFolder())
const report = reportTo(log)
const tell = (news: ServiceNews) => main.postMessage(news)

let questions = 0
const asking = new Map<number, (picked: string | null) => void>()

/** Has the main process show the system's window for picking a folder, which no page can answer for. */
const pickFolder = (startAt: string | null): Promise<string | null> =>
  new Promise((resolve) => {
    questions += 1
    asking.set(questions, resolve)
    tell({ news: 'pick-folder', question: questions, startAt })
  })

function takePicked(question: number, picked: string | null): void {
  asking.get(question)?.(picked)
  asking.delete(question)
}

async function open(): Promise<{ readonly context: Context; readonly inboxRoot: string } | undefined> {
  try {
    const { fleetFolder, ...start } = JSON.parse(process.argv[2] ?? '{}') as ServiceStart
    log.write(startOf('service', start.version))
    const context = await openSession({ ...start, demo: demoFile(fleetFolder), pickFolder, log })
    return { context, inboxRoot: start.inboxRoot }
  } catch (error) {
    if (!(error instanceof TarelineError)) report(error)
    tell({
      news: 'refused',
      sentence:
        error instanceof TarelineError ? error.message : 'Tareline could not start. The details are in the log.',
    })
    return undefined
  }
}

/** Opens a file that a person opened from outside the window; the present one stays where it cannot be opened. */
async function openAnother({ fleet, house }: Context, file: string): Promise<void> {
  try {
    if (house)
      throw new TarelineError(
        'house',
        phrase('{file} is shared with other desks. Stop that first, then open another file.', { file: fleet.file() }),
      )
    if (!existsSync(file)) throw new TarelineError('missing', phrase('{file} is no longer there.', { file }))
    await fleet.open(file).catch(async (error: unknown) => {
      // Somebody wants to see what is in it; the window says that nothing can be saved.
      if (!(error instanceof TarelineError && error.code === 'read-only')) throw error
      await fleet.open(file, { look: true })
    })
    log.write({ what: 'opened', file: basename(file), demo: false })
  } catch (error) {
    if (!(error instanceof TarelineError)) report(error)
    log.write({ what: 'not-opened', file: basename(file), code: error instanceof TarelineError ? error.code : 'fault' })
    tell({
      news: 'not-opened',
      sentence:
        error instanceof TarelineError ? error.message : `${file} could not be opened. The details are in the log.`,
    })
  }
}

async function end({ fleet }: Context): Promise<void> {
  await fleet.close().catch(report)
  log.write({ what: 'end', window: 'service' })
  process.exit(0)
}

async function serve(): Promise<void> {
  const alone = await open()
  if (!alone) return
  // The build lies beside this bundle.
  const sharing = sharingFrom(alone.context, {
    renderer: join(import.meta.dirname, '../renderer'),
    inboxRoot: alone.inboxRoot,
  })
  const { context } = sharing
  const procedures = new RPCHandler(router, { plugins: [hearingSpeech()] })
  main.on('message', ({ data, ports: [port] }: { data: ServiceOrder; ports: Electron.MessagePortMain[] }) => {
    if (data === 'end')
      void sharing
        .end()
        .catch(report)
        .then(() => end(context))
    else if (typeof data === 'object' && 'open' in data) void openAnother(context, data.open)
    else if (typeof data === 'object') takePicked(data.question, data.picked)
    else if (port) {
      procedures.upgrade(port, { context })
      port.start()
    }
  })
  tell({ news: 'ready' })
}

// A malformed message on a port is nobody's awaited call; it is taken down and the service goes on.
process.on('unhandledRejection', report)
process.on('uncaughtExceptionMonitor', log.fault)
void serve()
