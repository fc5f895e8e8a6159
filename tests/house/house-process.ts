import { type ChildProcess, spawn } from 'node:child_process'
import { mkdirSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { machineZone, timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Desk } from '#tests/house/running-house.ts'

const root = resolve(import.meta.dirname, '../..')

/** What a house says of itself once desks can come. */
export interface StartedHouse extends Desk {
  /** The one-time address of the window of its own machine. */
  readonly ownWindow: string
}

export interface HouseProcess {
  readonly child: ChildProcess
  /** Resolves once desks can come; rejects when it ends before. */
  readonly ready: Promise<StartedHouse>
  /** Resolves with the exit code when the process has ended; null where it was killed. */
  readonly ended: Promise<number | null>
  /** `kill -9`: the process gets no chance to do anything more. */
  kill(): Promise<void>
  /** What it wrote, for a complaint. */
  said(): string
}

interface Facts {
  readonly authority?: { readonly certificate: string }
  readonly own_window?: string
}

/** What runs the command line, where it is not this folder's own. */
interface Program {
  readonly program?: readonly string[]
  readonly env?: Readonly<Record<string, string>>
}

/**
 * Starts the real house on a fleet file, its clock where the test's own is; its own data and temporary files go into
 * `home`.
 */
export function startHouse(
  file: string,
  home: string,
  port: number,
  { program = [join(root, 'electron/run.js'), 'tareline'], env = {} }: Program = {},
): HouseProcess {
  const temporary = join(home, 'temporary')
  mkdirSync(temporary, { recursive: true })
  const words = ['house', '--db', file, '--port', String(port), '--name', 'yard-office', '--json']
  const child = spawn(process.execPath, [...program, ...words], {
    cwd: root,
    env: {
      PATH: process.env['PATH'],
      TMPDIR: temporary,
      XDG_DATA_HOME: join(home, 'data'),
      TARELINE_CLOCK: toStoredInstant(timeNow()),
      TARELINE_ZONE: machineZone(),
      ...env,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  let errors = ''
  const ended = new Promise<number | null>((done) => {
    child.once('close', (code) => done(code))
  })
  const ready = new Promise<StartedHouse>((found, failed) => {
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      said += text
      if (!said.trimEnd().endsWith('\n}')) return
      const { authority, own_window: ownWindow = '' } = JSON.parse(said) as Facts
      // An error is told as a document of its own; then the process ends.
      if (authority) found({ origin: `https://127.0.0.1:${port}`, authority: authority.certificate, ownWindow })
    })
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      errors += text
    })
    void ended.then(() => failed(new Error(`the house ended: ${errors}${said}`)))
  })
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
    said: () => errors + said,
  }
}
