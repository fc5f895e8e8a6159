import { createRouterClient } from '@orpc/server'
import { dirname } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { careForFile } from '#core/api/file-care.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { router } from '#core/api/router.ts'
import { TarelineError } from '#core/words/problem.ts'
import type { Client } from '#tests/api/windows.ts'
import { placesIn } from '#tests/fleet/places.ts'

/** The program's procedures on a file, without a transport; every page of the file has been checked. */
export async function openApp(file: string) {
  const report = (error: unknown) => console.error(error)
  const fleet = await openFleet(file, { report })
  const nowhere = () => {
    throw new TarelineError('not-here', 'There is nothing of the kind here.')
  }
  const context: Context = {
    version: '0.0.0',
    fleet,
    report,
    care: careForFile({ report, placesFile: `${file}-second-places.json` }),
    demo: { file: `${file}-demo`, from: '', prepare: nowhere },
    places: placesIn(dirname(file)),
    inboxes: { folderOf: nowhere, remove: nowhere },
    log: { folder: '', write: () => {}, fault: report, read: () => [] },
  }
  const client = createRouterClient(router, { context }) as unknown as Client
  // Nothing is saved before its pages have been checked.
  await client.desk.leave({ name: 'bench', text: null })
  return { client, fleet }
}
