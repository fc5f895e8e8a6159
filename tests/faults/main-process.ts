import { type ChildProcess, spawn } from 'node:child_process'
import { mkdirSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import { machineZone, timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Client } from '#tests/api/windows.ts'
import { enterAt } from '#tests/loopback/admission.ts'

const root = resolve(import.meta.dirname, '../..')

export interface MainProcess {
  readonly child: ChildProcess
  /** Resolves once the app serves its window; rejects when it ends before. */
  readonly ready: Promise<Client>
  /** Resolves when the process has ended, however. */
  readonly ended: Promise<void>
  /** `kill -9`: the process gets no chance to do anything more. */
  kill(): Promise<void>
  /** What it wrote, for a complaint. */
  said(): string
}

interface StartOptions {
  readonly env?: Record<string, string>
  readonly uid?: number
}

const enter = async (address: string): Promise<Client> =>
  createORPCClient(new RPCLink({ url: `${new URL(address).origin}/rpc`, headers: await enterAt(address) }))

/**
 * Starts the app's real main process on a fleet file, without a window, its clock where the test's own is; its own data
 * and temporary files go into `home`.
 */
export function startMain(file: string, home: string, { env = {}, uid }: StartOptions = {}): MainProcess {
  const temporary = join(home, 'temporary')
  mkdirSync(temporary, { recursive: true })
  const child = spawn(process.execPath, [join(root, 'electron/run.js'), 'start', '--no-window', '--db', file], {
    cwd: root,
    env: {
      PATH: process.env['PATH'],
      TMPDIR: temporary,
      XDG_DATA_HOME: join(home, 'data'),
      XDG_STATE_HOME: join(home, 'data'),
      TARELINE_CLOCK: toStoredInstant(timeNow()),
      TARELINE_ZONE: machineZone(),
      ...env,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
    ...(uid === undefined ? {} : { uid, gid: uid }),
  })
  let words = ''
  const ended = new Promise<void>((done) => {
    child.once('close', () => done())
  })
  const ready = new Promise<string>((found, failed) => {
    const take = (text: string) => {
      words += text
      const address = /http:\/\/127\.0\.0\.1:\d+\/\S+/.exec(words)?.[0]
      if (address) found(address)
    }
    child.stdout.setEncoding('utf8').on('data', take)
    child.stderr.setEncoding('utf8').on('data', take)
    void ended.then(() => failed(new Error(`the app ended: ${words}`)))
  }).then(enter)
  // A process that is killed before it is ready is what some want.
  ready.catch(() => undefined)
  return {
    child,
    ready,
    ended,
    kill: async () => {
      child.kill('SIGKILL')
      await ended
    },
    said: () => words,
  }
}
