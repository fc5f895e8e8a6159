import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Browser, type Page, expect } from '@playwright/test'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Role } from '#core/words/roles.ts'
import { freePort } from '#tests/free-port.ts'
import { startHouse as startProcess } from '#tests/house/house-process.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { bringIn, clientOf, layFleet } from '#tests/screens/app.ts'

interface Wanted {
  /** From which its clock runs on, ms UTC. */
  readonly clock?: number
  /** The fleet folder that is imported; the small fleet where it is left out. */
  readonly fleet?: string
}

/**
 * A house as it is started on its own machine, with a fleet imported, and the window and the procedures of that
 * machine.
 */
export async function startHouse({ clock = timeNow(), fleet }: Wanted = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-house-'))
  if (fleet === undefined) await layFleet('small', folder)
  const house = startProcess(join(folder, 'fleet.tareline'), folder, await freePort(), {
    env: { TARELINE_CLOCK: toStoredInstant(clock), XDG_CONFIG_HOME: folder },
  })
  const { origin, ownWindow } = await house.ready
  const admission = await enterAt(ownWindow)
  const own = { origin: new URL(ownWindow).origin, admission }
  const here = clientOf(own.origin, admission)
  if (fleet !== undefined) await bringIn(here, fleet)
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

export type House = Awaited<ReturnType<typeof startHouse>>

/** A desk at which somebody of a name and a role has just chosen a password. */
export async function deskOf(
  house: House,
  browser: Browser,
  { name, role }: { readonly name: string; readonly role: Role },
): Promise<Page> {
  const { token } = await house.here.people.invite({ name, role, units: [] })
  const page = await (
    await browser.newContext({ ignoreHTTPSErrors: true, viewport: { width: 1280, height: 800 } })
  ).newPage()
  await page.goto(`${house.origin}/#/welcome/${token}`)
  await page.getByLabel('Password', { exact: true }).fill('four words in a row')
  await page.getByLabel('The same once more').fill('four words in a row')
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
  await expect(page.getByRole('heading', { name: 'Today' })).toBeVisible()
  return page
}
