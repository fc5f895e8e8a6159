import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import type { ContractRouterClient } from '@orpc/contract'
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import type { contract } from '#core/contracts/contract.ts'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { freePort } from '#tests/house/house-process.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { smallFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

const root = resolve(import.meta.dirname, '../..')

/**
 * A house as it is started on its own machine, with a fleet folder imported, and the window and the procedures of that
 * machine; its clock runs on from `clock` (ms UTC).
 */
export async function startHouse({
  clock = timeNow(),
  fleet,
}: {
  readonly clock?: number
  readonly fleet?: string
} = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-house-'))
  const port = await freePort()
  const child = spawn(
    process.execPath,
    ['electron/tareline.ts', 'house', '--db', join(folder, 'fleet.tareline'), '--port', String(port), '--json'],
    {
      cwd: root,
      env: {
        ...process.env,
        TARELINE_CLOCK: toStoredInstant(clock),
        XDG_DATA_HOME: folder,
        XDG_CONFIG_HOME: folder,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  )
  const ownWindow = await new Promise<string>((found, failed) => {
    let said = ''
    const listen = (part: Buffer) => {
      said += part.toString()
      const address = /"own_window": "([^"]+)"/.exec(said)?.[1]
      if (address !== undefined) found(address)
    }
    child.stdout.on('data', listen)
    child.stderr.on('data', listen)
    child.once('exit', (code) => failed(new Error(`The house ended with ${code}: ${said}`)))
  })
  const admission = await enterAt(ownWindow)
  const here: ContractRouterClient<typeof contract> = createORPCClient(
    new RPCLink({ url: `${new URL(ownWindow).origin}/rpc`, headers: admission }),
  )
  const from = fleet ?? writeFleetFolder(join(folder, 'small'), smallFleet)
  const steps = await here.folder.bringIn({ folder: from })
  for (let step = await steps.next(); !step.done; ) step = await steps.next()
  return {
    origin: `https://127.0.0.1:${port}`,
    here,
    ownWindow: { origin: new URL(ownWindow).origin, admission },
    stop: async () => {
      const ended = new Promise((done) => child.once('exit', done))
      child.kill('SIGTERM')
      await ended
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
