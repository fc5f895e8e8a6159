import { spawn } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { StartOptions } from '#electron/options.ts'

export type ElectronProgram =
  | { readonly found: true; readonly file: string }
  | { readonly found: false; readonly why: string }

const stallMs = 20_000
const wholeMs = 10 * 60_000
/** A machine that cannot reach the download is not kept waiting at every start. */
const rememberMs = 12 * 3600_000

function installed(folder: string): string | undefined {
  const name = join(folder, 'path.txt')
  if (!existsSync(name)) return undefined
  const file = join(folder, 'dist', readFileSync(name, 'utf8').trim())
  return existsSync(file) ? file : undefined
}

function bytesUnder(folder: string): number {
  let sum = 0
  for (const name of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    sum += statSync(join(folder, name), { throwIfNoEntry: false })?.size ?? 0
  }
  return sum
}

/** Runs Electron's own install script, as long as what it has downloaded keeps growing. Returns why it failed. */
async function download(folder: string): Promise<{ done: true } | { done: false; stalled: boolean; why: string }> {
  const temporary = mkdtempSync(join(tmpdir(), 'tareline-electron-'))
  const child = spawn(process.execPath, [join(folder, 'install.js')], {
    env: { ...process.env, TMPDIR: temporary, TMP: temporary, TEMP: temporary },
    stdio: ['ignore', 'ignore', 'pipe'],
  })
  let words = ''
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    words = (words + text).slice(0, 2000)
  })
  let stalled = false
  const startedAt = performance.now()
  let grewAt = startedAt
  let bytes = 0
  const watch = setInterval(() => {
    const now = bytesUnder(temporary) + (existsSync(join(folder, 'dist')) ? bytesUnder(join(folder, 'dist')) : 0)
    if (now > bytes) [bytes, grewAt] = [now, performance.now()]
    stalled = performance.now() - grewAt > stallMs || performance.now() - startedAt > wholeMs
    if (stalled) child.kill()
  }, 500)
  try {
    const code = await new Promise<number | null>((resolve) => {
      child.once('error', () => resolve(1))
      child.once('close', resolve)
    })
    if (code === 0) return { done: true }
    return {
      done: false,
      stalled,
      why: stalled
        ? `nothing arrived for ${stallMs / 1000} s`
        : words.split('\n')[0]?.trim() || `its installer ended with ${code}`,
    }
  } finally {
    clearInterval(watch)
    rmSync(temporary, { recursive: true, force: true })
  }
}

/** Electron's program, downloaded at the first start; or, in half a sentence, why there is none. */
async function findElectron(root: string, say: (line: string) => void): Promise<ElectronProgram> {
  const folder = join(root, 'node_modules/electron')
  const file = installed(folder)
  if (file) return { found: true, file }
  if (!existsSync(join(folder, 'install.js'))) return { found: false, why: 'Electron is not installed' }
  const mark = join(root, '.cache/electron-stalled')
  const stalledAt = statSync(mark, { throwIfNoEntry: false })?.mtimeMs ?? 0
  // The clock of the disk, whatever the program's own says.
  if (Date.now() - stalledAt < rememberMs)
    return { found: false, why: 'Electron could not be downloaded at the last try (npx install-electron tries again)' }
  say('Downloading Electron for the desktop window, once…')
  const outcome = await download(folder)
  const now = installed(folder)
  if (outcome.done && now) return { found: true, file: now }
  if (!outcome.done && outcome.stalled) {
    mkdirSync(join(root, '.cache'), { recursive: true })
    writeFileSync(mark, '')
  }
  return {
    found: false,
    why: `Electron could not be downloaded (${outcome.done ? 'its program is missing' : outcome.why})`,
  }
}

export type DesktopRun = { readonly ran: true; readonly code: number } | { readonly ran: false; readonly why: string }

/** A window that fails within this time was most likely never seen. */
const startMs = 5000

/** What the desktop ends with when it has said itself why it cannot go on, as for a damaged file. */
const refusedCode = 2

function desktopArguments(options: StartOptions): string[] {
  return [...(options.db === undefined ? [] : ['--db', options.db]), ...(options.demo ? ['--demo'] : [])]
}

/** Runs the app in Electron until its window is closed; or says why it cannot. */
export async function runDesktop(
  root: string,
  options: StartOptions,
  say: (line: string) => void,
): Promise<DesktopRun> {
  if (process.platform === 'linux' && process.getuid?.() === 0)
    return { ran: false, why: 'Electron keeps its sandbox on, and that does not run for root' }
  const electron = await findElectron(root, say)
  if (!electron.found) return { ran: false, why: electron.why }
  const startedAt = performance.now()
  const child = spawn(electron.file, [root, ...desktopArguments(options)], { stdio: 'inherit' })
  // Ctrl-C reaches the window by itself; this program only waits for it to end in good order.
  const wait = () => undefined
  const pass = (signal: NodeJS.Signals) => child.kill(signal)
  process.on('SIGINT', wait).on('SIGTERM', pass)
  const ended = await new Promise<number | null | Error>((resolve) => {
    child.once('error', resolve)
    child.once('exit', resolve)
  })
  process.off('SIGINT', wait).off('SIGTERM', pass)
  if (ended instanceof Error) return { ran: false, why: `Electron did not start (${ended.message})` }
  const failedAtOnce = ended !== 0 && ended !== refusedCode && performance.now() - startedAt < startMs
  if (failedAtOnce) return { ran: false, why: `Electron ended at once (${ended ?? 'by a signal'})` }
  return { ran: true, code: ended ?? 1 }
}
