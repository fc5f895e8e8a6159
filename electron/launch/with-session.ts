import { join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { demoFile } from '#electron/demo-file.ts'
import { openLog, startOf } from '#electron/log/log.ts'
import { logFolder, openSession, reportTo } from '#electron/session.ts'
import { removeInboxRoot } from '#electron/web/inboxes.ts'
import type { WebFolders } from '#electron/web/web.ts'

interface Run {
  readonly window: 'loopback' | 'house'
  /** The folder of the app: its build is under dist/, the demo fleet under demo-data/fleet. */
  readonly root: string
  readonly version: string
  readonly startWithDemo: boolean
  readonly db: string | undefined
}

/**
 * Opens a fleet file for a program that serves it over HTTP, and closes it in good order whatever comes of the work.
 * Errors: those of `openSession`.
 */
export async function withSession(
  { window, root, version, startWithDemo, db }: Run,
  work: (context: Context, folders: WebFolders) => Promise<void>,
): Promise<void> {
  const log = openLog(logFolder())
  log.write(startOf(window, version))
  // What one request leaves unawaited is taken down and ends nobody else's work.
  process.on('unhandledRejection', reportTo(log))
  process.on('uncaughtExceptionMonitor', log.fault)
  const inboxRoot = makeRunFolder('inbox')
  process.once('exit', () => removeInboxRoot(inboxRoot))
  const context = await openSession({
    version,
    startWithDemo,
    demo: demoFile(join(root, 'demo-data/fleet')),
    inboxRoot,
    log,
    ...(db === undefined ? {} : { db }),
  })
  try {
    await work(context, { renderer: join(root, 'dist/renderer'), inboxRoot })
  } finally {
    await context.fleet.close()
    removeInboxRoot(inboxRoot)
    log.write({ what: 'end', window })
  }
}
