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
import { compiledOnce } from '#tests/compiled.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { program } from '#tests/screens/program.ts'

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
  const child = spawn(process.execPath, [program.start, '--no-window', ...opened], {
    cwd: root,
    env: {
      ...process.env,
      TARELINE_CLOCK: toStoredInstant(clock),
      XDG_DATA_HOME: folder,
      XDG_CONFIG_HOME: folder,
      ...compiledOnce,
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

/** When the one demo of a run is made: a little before any test's clock that is after it. */
const demoMadeAt = Date.parse('2026-11-25T17:50:00Z')

/**
 * Lays the demo fleet's file, imported and judged, into the home of an app that has not started: whoever asks first in
 * a run of the tests makes it in the folder of that run, the others copy it.
 */
async function layDemo(run: string, home: string): Promise<void> {
  const made = join(run, 'demo')
  // Only one worker gets to make this folder.
  if (mkdirSync(`${made} begun`, { recursive: true })) {
    const making = join(run, 'demo unfinished')
    await (await launch({ opened: ['--demo'], clock: demoMadeAt, folder: making })).stop({ keep: true })
    renameSync(making, made)
  }
  while (!existsSync(made)) await pause(50)
  for (const name of ['demo.tareline', 'demo.made.json'])
    cpSync(join(made, 'tareline', name), join(home, 'tareline', name), { mode: constants.COPYFILE_FICLONE })
}

/**
 * Starts the app on a new file, on its demo fleet, or on the file of an app that was left in its folder; its clock runs
 * on from `clock` (ms UTC).
 */
export async function startApp({
  demo = false,
  clock = timeNow(),
  folder = mkdtempSync(join(tmpdir(), 'tareline-screens-')),
  file = join(folder, 'fleet.tareline'),
} = {}): Promise<App> {
  const run = process.env['TARELINE_MADE_ONCE']
  // On a day before, the file would be one from the future.
  if (demo && run && clock > demoMadeAt) await layDemo(run, folder)
  return await launch({ opened: demo ? ['--demo'] : ['--db', file], clock, folder })
}

/** Gives a context what a browser holds that used the one-time address, which only works once. */
export async function letIn(
  context: BrowserContext,
  { origin, admission }: Pick<App, 'origin' | 'admission'>,
): Promise<void> {
  const [name = '', value = ''] = admission.cookie.split('=')
  await context.addCookies([{ name, value, url: origin }])
  await context.addInitScript((pass) => localStorage.setItem('tareline-pass', pass), admission['tareline-pass'])
}
