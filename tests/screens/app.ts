import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import type { ContractRouterClient } from '@orpc/contract'
import { spawn } from 'node:child_process'
import { constants, cpSync, existsSync, mkdirSync, mkdtempSync, renameSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import type { BrowserContext } from '@playwright/test'
import type { contract } from '#core/contracts/contract.ts'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { evidenceFleet } from '#tests/screens/evidence-fleet.ts'
import { smallFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

type Client = ContractRouterClient<typeof contract>

const root = resolve(import.meta.dirname, '../..')
const startMs = 60_000

/** The app as a person starts it without a window, on a fleet file of its own. */
export interface App {
  readonly origin: string
  /** What the one-time address was changed for: the cookie, and the pass that calls carry. */
  readonly admission: Admission
  readonly folder: string
  /** Its procedures, as the screens call them. */
  readonly client: Client
  /** What its clock says, ms UTC. */
  now(): number
  /** Brings a fleet folder of this computer in, as the screen would. */
  bringIn(folder: string): Promise<void>
  /** Ends it and, unless it is kept, removes its folder. */
  stop(options?: { readonly keep?: boolean }): Promise<void>
}

function firstAddress(child: ReturnType<typeof spawn>): Promise<string> {
  return new Promise((found, failed) => {
    let said = ''
    const timer = setTimeout(
      () => failed(new Error(`The app gave no address within ${startMs / 1000} s: ${said}`)),
      startMs,
    )
    const listen = (part: Buffer) => {
      said += part.toString()
      const address = /http:\/\/127\.0\.0\.1:\d+\/\S*/.exec(said)?.[0]
      if (!address) return
      clearTimeout(timer)
      found(address)
    }
    child.stdout?.on('data', listen)
    child.stderr?.on('data', listen)
    child.once('exit', (code) => failed(new Error(`The app ended with ${code}: ${said}`)))
  })
}

/** The procedures of an app's own window, as the screens call them. */
export const clientOf = (origin: string, admission: Admission): Client =>
  createORPCClient(new RPCLink({ url: `${origin}/rpc`, headers: admission }))

/** Imports a fleet folder, as the screen would. Errors: one with what is wrong in the folder. */
export async function bringIn(client: Client, folder: string): Promise<void> {
  const steps = await client.folder.bringIn({ folder })
  for (;;) {
    const step = await steps.next()
    if (!step.done) continue
    if (step.value.outcome === 'refused') throw new Error(step.value.problems.map(({ message }) => message).join('\n'))
    return
  }
}

interface Launch {
  readonly opened: readonly string[]
  readonly clock: number
  readonly folder: string
}

/** Starts the app with its home in a folder; its clock runs on from `clock` (ms UTC). */
async function launch({ opened, clock, folder }: Launch): Promise<App> {
  const startedAt = performance.now()
  const child = spawn(process.execPath, ['electron/run.js', 'start', '--no-window', ...opened], {
    cwd: root,
    env: {
      ...process.env,
      TARELINE_CLOCK: toStoredInstant(clock),
      XDG_DATA_HOME: folder,
      XDG_CONFIG_HOME: folder,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const address = await firstAddress(child)
  const { origin } = new URL(address)
  const admission = await enterAt(address)
  const client = clientOf(origin, admission)
  return {
    origin,
    admission,
    folder,
    client,
    now: () => clock + performance.now() - startedAt,
    bringIn: (from) => bringIn(client, from),
    stop: async ({ keep = false } = {}) => {
      const ended = new Promise((done) => child.once('exit', done))
      child.kill('SIGTERM')
      await ended
      if (!keep) rmSync(folder, { recursive: true, force: true })
    },
  }
}

/** What is made once in a run of the tests, and copied for each app that wants it. */
interface Made {
  readonly name: string
  /** Of the home that it was made in. */
  readonly files: readonly string[]
  make(home: string): Promise<void>
}

/**
 * Lays files into the home of an app that has not started: whoever asks first in a run of the tests makes them in the
 * folder of that run, the others copy them.
 */
async function layMade(run: string, home: string, { name, files, make }: Made): Promise<void> {
  const made = join(run, name)
  // Only one worker gets to make this folder.
  if (mkdirSync(`${made} begun`, { recursive: true })) {
    const making = `${made} unfinished`
    await make(making)
    renameSync(making, made)
  }
  while (!existsSync(made)) await pause(50)
  for (const file of files) cpSync(join(made, file), join(home, file), { mode: constants.COPYFILE_FICLONE })
}

/** When the one demo of a run is made: a little before any test's clock that is after it. */
const demoMadeAt = Date.parse('2026-11-25T17:50:00Z')

/** The demo fleet's file, imported and judged. */
const demo: Made = {
  name: 'demo',
  files: ['tareline/demo.tareline', 'tareline/demo.made.json'],
  make: async (home) => {
    await (await launch({ opened: ['--demo'], clock: demoMadeAt, folder: home })).stop({ keep: true })
  },
}

/** Fleets whose file is made once in a run. */
const fleets = { small: smallFleet, evidence: evidenceFleet } as const
type FleetName = keyof typeof fleets

/** The moment that those fleets' days are counted back from: the suite's clock begins with it. */
export const plannedAt = Date.parse(process.env['TARELINE_CLOCK'] ?? '')

/** A fleet's file, imported and judged a little before the suite's clock begins. */
const fleetFile = (name: FleetName): Made => ({
  name,
  files: ['fleet.tareline'],
  make: async (home) => {
    mkdirSync(home)
    const clock = plannedAt - 10 * 60_000
    const app = await launch({ opened: ['--db', join(home, 'fleet.tareline')], clock, folder: home })
    await app.bringIn(writeFleetFolder(join(home, name), fleets[name], plannedAt))
    await app.stop({ keep: true })
  },
})

/** The folder of the run of the tests; undefined outside of one. */
const runFolder = () => process.env['TARELINE_MADE_ONCE']

const newHome = () => mkdtempSync(join(tmpdir(), 'tareline-screens-'))

/** Lays a fleet's file, `fleet.tareline`, into a folder and answers that. */
export async function layFleet(name: FleetName, folder = newHome()): Promise<string> {
  const run = runFolder()
  if (!run) throw new Error('The file of a fleet is made once in a run of the tests, and this is none.')
  await layMade(run, folder, fleetFile(name))
  return folder
}

/**
 * Starts the app on a new file, on its demo fleet, or on the file of an app that was left in its folder; its clock runs
 * on from `clock` (ms UTC).
 */
export async function startApp({
  demo: onDemo = false,
  clock = timeNow(),
  folder = newHome(),
  file = join(folder, 'fleet.tareline'),
} = {}): Promise<App> {
  const run = runFolder()
  // On a day before, the file would be one from the future.
  if (onDemo && run && clock > demoMadeAt) await layMade(run, folder, demo)
  return await launch({ opened: onDemo ? ['--demo'] : ['--db', file], clock, folder })
}

/** Starts the app on a file of its own with a fleet. */
export const startAppOn = async (name: FleetName): Promise<App> => await startApp({ folder: await layFleet(name) })

/** Gives a context what a browser holds that used the one-time address, which only works once. */
export async function letIn(
  context: BrowserContext,
  { origin, admission }: Pick<App, 'origin' | 'admission'>,
): Promise<void> {
  const [name = '', value = ''] = admission.cookie.split('=')
  await context.addCookies([{ name, value, url: origin }])
  await context.addInitScript((pass) => localStorage.setItem('tareline-pass', pass), admission['tareline-pass'])
}
