import { basename } from 'node:path'
import type { Context, DemoFile } from '#core/api/context.ts'
import { keepDayCopies } from '#core/api/day-copies.ts'
import type { Log } from '#core/api/log-event.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { reportTo } from '#electron/report.ts'
import { usualFleetFile } from '#electron/user-folder.ts'
import { inboxesIn } from '#electron/web/inboxes.ts'

export interface SessionOptions {
  readonly version: string
  /** Fleet file to open; the user's usual one when not given. */
  readonly db?: string
  /** Open the demo fleet in place of a fleet file. */
  readonly startWithDemo: boolean
  readonly demo: DemoFile
  readonly inboxRoot: string
  readonly log: Log
}

/**
 * Opens the first file and makes what every procedure may reach. Errors: TarelineError of the file that cannot be
 * opened.
 */
export async function openSession({
  version,
  db,
  startWithDemo,
  demo,
  inboxRoot,
  log,
}: SessionOptions): Promise<Context> {
  const file = startWithDemo ? demo.file : (db ?? usualFleetFile())
  try {
    if (startWithDemo) await demo.prepare()
    const report = reportTo(log)
    const dayCopies = keepDayCopies(report, (copy) => log.write({ what: 'copied', file: basename(copy) }))
    const fleet = await openFleet(file, { report, onOpen: dayCopies.opened })
    const trouble = fleet.trouble()
    log.write(
      trouble
        ? { what: 'not-opened', file: basename(file), code: trouble.code }
        : { what: 'opened', file: basename(file), demo: startWithDemo },
    )
    return { version, fleet, dayCopies, demo, inboxes: inboxesIn(inboxRoot), log, report }
  } catch (error) {
    log.write({ what: 'not-opened', file: basename(file), code: error instanceof TarelineError ? error.code : 'fault' })
    throw error
  }
}
