import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { freePort } from '#tests/free-port.ts'
import { startHouse as startProcess } from '#tests/house/house-process.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { bringIn, clientOf } from '#tests/screens/app.ts'
import { smallFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

interface Wanted {
  /** From which its clock runs on, ms UTC. */
  readonly clock?: number
  /** The fleet folder that is imported; the small fleet where it is left out. */
  readonly fleet?: string
}

/** A house as it is started on its own machine, with a fleet imported, and the window and the procedures of that machine. */
export async function startHouse({ clock = timeNow(), fleet }: Wanted = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-house-'))
  const house = startProcess(join(folder, 'fleet.tareline'), folder, await freePort(), {
    env: { TARELINE_CLOCK: toStoredInstant(clock), XDG_CONFIG_HOME: folder },
  })
  const { origin, ownWindow } = await house.ready
  const admission = await enterAt(ownWindow)
  const own = { origin: new URL(ownWindow).origin, admission }
  const here = clientOf(own.origin, admission)
  await bringIn(here, fleet ?? writeFleetFolder(join(folder, 'small'), smallFleet))
  return {
    origin,
    here,
    ownWindow: own,
    stop: async () => {
      house.child.kill('SIGTERM')
      await house.ended
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
