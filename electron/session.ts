import type { Context, DemoFile } from '#core/api/context.ts'
import { keepDayCopies } from '#core/api/day-copies.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { report } from '#electron/report.ts'
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
}

/** Opens the first file and makes what every procedure may reach. Errors: TarelineError of the file that cannot be opened. */
export async function openSession({ version, db, startWithDemo, demo, inboxRoot }: SessionOptions): Promise<Context> {
  if (startWithDemo) await demo.prepare()
  const dayCopies = keepDayCopies(report)
  const fleet = await openFleet(startWithDemo ? demo.file : db ?? usualFleetFile(), { report, onOpen: dayCopies.opened })
  return { version, fleet, dayCopies, demo, inboxes: inboxesIn(inboxRoot), report }
}
