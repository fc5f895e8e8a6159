import { expect } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { heavyFleet } from '#tests/exchange/heavy-fleet.ts'
import { type FleetFiles, withFleetFolder } from '#tests/exchange/small-fleet.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'

/** A running app on the fleet of a folder, judged today. */
export async function runAppOn(files: FleetFiles): Promise<RunningApp> {
  const app = await runApp()
  await app.context.fleet.use(async (store) => {
    expect((await withFleetFolder(files, (folder) => importFolder(store, folder))).outcome).toBe('stored')
    await catchUp(store, timeNow())
  })
  return app
}

export const runHeavyApp = (): Promise<RunningApp> => runAppOn(heavyFleet())
