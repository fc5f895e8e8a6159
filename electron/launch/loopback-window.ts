import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { demoFile } from '#electron/demo-file.ts'
import { openAppWindow } from '#electron/launch/browser.ts'
import { openLog, startOf } from '#electron/log/log.ts'
import { type Loopback, serveLoopback } from '#electron/loopback/serve.ts'
import type { StartOptions } from '#electron/options.ts'
import { logFolder, openSession, reportTo } from '#electron/session.ts'
import { removeInboxRoot } from '#electron/web/inboxes.ts'

const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

/** Calls `stop` when npm, which started this program, is gone: it ends without passing its signal on. */
function watchNpm(stop: () => void): void {
  if (process.env['npm_lifecycle_event'] === undefined || process.platform === 'win32') return
  const parent = process.ppid
  const timer = setInterval(() => {
    if (process.ppid === parent) return
    clearInterval(timer)
    stop()
  }, 500).unref()
}

/**
 * From now on, the first Ctrl-C or other wish to end only resolves the promise; a second one ends the program at once.
 */
function listenForStop(): Promise<void> {
  return new Promise((resolve) => {
    const stop = () => {
      // Without a handler the next signal has its usual effect.
      for (const signal of signals) process.off(signal, stop)
      resolve()
    }
    for (const signal of signals) process.on(signal, stop)
    watchNpm(stop)
  })
}

/** Says another one-time address whenever Enter is pressed where the program was started; the answer ends that. */
function giveAddresses({ newAddress }: Pick<Loopback, 'newAddress'>, say: (line: string) => void): () => void {
  if (!process.stdin.isTTY) return () => {}
  const lines = createInterface({ input: process.stdin })
  lines.on('line', () => say(`${newAddress()}\nThis address opens once, on this machine.`))
  return () => lines.close()
}

interface Start {
  readonly options: StartOptions
  /** The folder of the app: its build is under dist/, the demo fleet under demo-data/fleet. */
  readonly root: string
  readonly version: string
  readonly say: (line: string) => void
}

/** Serves the app on this machine and opens it in the installed browser; ends with that window, or with Ctrl-C. */
export async function startLoopback({ options, root, version, say }: Start): Promise<void> {
  const stopped = listenForStop()
  const log = openLog(logFolder())
  log.write(startOf('loopback', version))
  // What one request leaves unawaited is taken down and ends nobody else's work.
  process.on('unhandledRejection', reportTo(log))
  process.on('uncaughtExceptionMonitor', log.fault)
  const inboxRoot = makeRunFolder('inbox')
  process.once('exit', () => removeInboxRoot(inboxRoot))
  const context = await openSession({
    version,
    startWithDemo: options.demo,
    demo: demoFile(join(root, 'demo-data/fleet')),
    inboxRoot,
    log,
    ...(options.db === undefined ? {} : { db: options.db }),
  })
  try {
    const loopback = await serveLoopback(context, { renderer: join(root, 'dist/renderer'), inboxRoot }, options.port)
    try {
      const window = options.window ? await openAppWindow(loopback.address) : undefined
      if (window?.opened === false) say(window.why)
      if (window?.opened === true)
        say(`Tareline is open in ${window.browser}. Close its window or press Ctrl-C to end.`)
      else
        say(
          `Tareline is at ${loopback.address}\nThis address opens once, on this machine. ` +
            'Press Enter for another one, Ctrl-C to end.',
        )
      const noMoreAddresses = giveAddresses(loopback, say)
      await (window?.opened === true ? Promise.race([stopped, window.closed]) : stopped)
      noMoreAddresses()
      if (window?.opened === true) await window.close()
    } finally {
      await loopback.close()
    }
  } finally {
    await context.fleet.close()
    removeInboxRoot(inboxRoot)
    log.write({ what: 'end', window: 'loopback' })
  }
}
