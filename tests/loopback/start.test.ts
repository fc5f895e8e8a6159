import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { TarelineError } from '#core/words/problem.ts'
import { readOptions } from '#electron/options.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { ask } from '#tests/loopback/running-app.ts'

const root = resolve(import.meta.dirname, '../..')
// A start builds the screens when they are older than the sources.
vi.setConfig({ testTimeout: 120_000 })

let folder: string
let running: ChildProcess | undefined
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-start-'))
  mkdirSync(join(folder, 'temporary'))
})
afterEach(() => {
  running?.kill('SIGKILL')
  rmSync(folder, { recursive: true, force: true })
})

/** `npm start` as a person types it, in a session without a display. */
const start = (...args: string[]) => startWith([], ...args)

function startWith(ofNode: readonly string[], ...args: string[]) {
  const child = spawn(process.execPath, [...ofNode, join(root, 'electron/run.js'), 'start', ...args], {
    cwd: folder,
    env: {
      PATH: process.env['PATH'],
      TARELINE_CLOCK: process.env['TARELINE_CLOCK'],
      TARELINE_ZONE: process.env['TARELINE_ZONE'],
      TMPDIR: join(folder, 'temporary'),
      XDG_DATA_HOME: join(folder, 'data'),
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  running = child
  let words = ''
  const take = (text: string) => {
    words += text
  }
  child.stdout.setEncoding('utf8').on('data', take)
  child.stderr.setEncoding('utf8').on('data', take)
  const ended = new Promise<{ code: number | null; words: string }>((done) => {
    child.once('close', (code) => done({ code, words }))
  })
  const address = async () => {
    for (;;) {
      const found = /http:\/\/\S+/.exec(words)?.[0]
      if (found) return found
      await Promise.race([
        ended,
        new Promise((again) => {
          setTimeout(again, 20)
        }),
      ])
      if (child.exitCode !== null) throw new Error(words)
    }
  }
  return { child, ended, address }
}

describe('npm start', () => {
  it.each(['SIGINT', 'SIGTERM'] as const)(
    'prints the address where there is no display, serves it, and ends in good order at %s',
    async (signal) => {
      const { child, ended, address } = start('--db', 'shop.tareline')
      const at = await address()
      const { origin } = new URL(at)
      const headers = await enterAt(at)
      const state = await ask(origin, '/rpc/file/state', { method: 'POST', headers })
      expect(JSON.parse(state.text)).toMatchObject({
        json: { file: join(folder, 'shop.tareline'), units: 0, demo: false },
      })
      expect(
        (await ask(origin, '/inbox/start-inbox/yards.csv', { method: 'PUT', headers, body: 'yard\n' })).status,
      ).toBe(204)
      expect(readdirSync(join(folder, 'temporary'))).toHaveLength(1)
      child.kill(signal)
      const { code, words } = await ended
      expect(code).toBe(0)
      expect(words).toContain('No window: this session has no display.')
      // Nothing of the run is left: no picked files, no journal beside the closed file.
      expect(readdirSync(join(folder, 'temporary'))).toEqual([])
      expect(readdirSync(folder).filter((name) => name.startsWith('shop'))).toEqual(['shop.tareline'])
    },
  )

  it('goes on after a rejection that nobody awaited, and takes it down', async () => {
    const hook =
      'process.on("SIGUSR2", () => Promise.reject(Object.assign(new Error("left alone"), { code: "ELEFT" })))'
    const { child, ended, address } = startWith(['--import', `data:text/javascript,${hook}`], '--db', 'shop.tareline')
    const at = await address()
    const { origin } = new URL(at)
    child.kill('SIGUSR2')
    const headers = await enterAt(at)
    const log = () =>
      readdirSync(join(folder, 'data/tareline/log'))
        .map((name) => readFileSync(join(folder, 'data/tareline/log', name), 'utf8'))
        .join('')
    await expect.poll(log).toContain('ELEFT')
    expect((await ask(origin, '/rpc/file/state', { method: 'POST', headers })).status).toBe(200)
    child.kill('SIGINT')
    const { code, words } = await ended
    expect(code).toBe(0)
    expect(words).toContain('left alone')
  })

  it('keeps the usual file in the user’s own data folder', async () => {
    const { child, ended, address } = start('--no-window')
    await address()
    child.kill('SIGINT')
    expect((await ended).code).toBe(0)
    expect(existsSync(join(folder, 'data/tareline/fleet.tareline'))).toBe(true)
  })

  it('says in a sentence what is wrong and ends with 2', async () => {
    writeFileSync(join(folder, 'letter.tareline'), 'Dear shop, this is a letter and not a database.')
    const file = await start('--no-window', '--db', 'letter.tareline').ended
    expect(file).toEqual({ code: 2, words: expect.stringContaining('letter.tareline is not a Tareline database.') })
    const option = await start('--windows').ended
    expect(option).toEqual({ code: 2, words: "Unknown option '--windows'. Run with --help to see what is accepted.\n" })
  })

  it('says that a port is taken', async () => {
    const other = createServer()
    await new Promise<void>((done) => {
      other.listen(0, '127.0.0.1', done)
    })
    const { port } = other.address() as { port: number }
    const { code, words } = await start('--no-window', '--port', String(port), '--db', 'a.tareline').ended
    other.close()
    expect([code, words]).toEqual([
      2,
      `Port ${port} is taken or not allowed. Choose another one with --port, or none for any free one.\n`,
    ])
  })

  it('shows what it accepts', async () => {
    const { code, words } = await start('--help').ended
    expect(code).toBe(0)
    for (const option of ['--db', '--demo', '--loopback', '--port', '--no-window', '--help'])
      expect(words).toContain(option)
  })
})

describe('its options', () => {
  it('are read as given', () => {
    expect(readOptions([])).toEqual({ demo: false, loopback: false, window: true, port: 0, help: false })
    expect(readOptions(['--db', 'a.tareline', '--loopback', '--no-window', '--port=8080'])).toEqual({
      db: 'a.tareline',
      demo: false,
      loopback: true,
      window: false,
      port: 8080,
      help: false,
    })
  })

  it.each([
    [['--port', '0'], '--port is "0"; a whole number from 1 to 65535 is accepted.'],
    [['--port', '8e3'], '--port is "8e3"; a whole number from 1 to 65535 is accepted.'],
    [['--port', '65536'], '--port is "65536"; a whole number from 1 to 65535 is accepted.'],
    [['--db='], '--db names no file; the path of a fleet file is accepted.'],
    [['--demo', '--db', 'a'], '--demo and --db each name a fleet file; give one of them.'],
  ])('are refused with a sentence: %j', (args, sentence) => {
    expect(() => readOptions(args)).toThrow(new TarelineError('usage', sentence))
  })
})
