import { type ChildProcess, spawn } from 'node:child_process'
import { accessSync, constants, realpathSync, rmSync, writeFileSync } from 'node:fs'
import { homedir, tmpdir } from 'node:os'
import { delimiter, join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { makeRunFolder } from '#core/store/run-folder.ts'

interface Browser {
  readonly name: string
  readonly file: string
  readonly family: 'chromium' | 'firefox'
}

export type AppWindow =
  | { readonly opened: false; readonly why: string }
  | { readonly opened: true; readonly browser: string; readonly closed: Promise<void>; close(): Promise<void> }

interface Place {
  readonly platform: NodeJS.Platform
  readonly env: NodeJS.ProcessEnv
  readonly isProgram: (file: string) => boolean
}

const isProgram = (file: string): boolean => {
  try {
    accessSync(file, constants.X_OK)
    return true
  } catch {
    return false
  }
}

const here: Place = { platform: process.platform, env: process.env, isProgram }

const linuxPrograms: readonly (readonly [string, string])[] = [
  ['Chromium', 'chromium'],
  ['Chromium', 'chromium-browser'],
  ['Chrome', 'google-chrome-stable'],
  ['Chrome', 'google-chrome'],
  ['Edge', 'microsoft-edge-stable'],
  ['Edge', 'microsoft-edge'],
  ['Firefox', 'firefox'],
  ['Firefox', 'firefox-esr'],
]
const macPrograms: readonly (readonly [string, string])[] = [
  ['Chrome', 'Google Chrome.app/Contents/MacOS/Google Chrome'],
  ['Edge', 'Microsoft Edge.app/Contents/MacOS/Microsoft Edge'],
  ['Chromium', 'Chromium.app/Contents/MacOS/Chromium'],
  ['Firefox', 'Firefox.app/Contents/MacOS/firefox'],
]
const windowsPrograms: readonly (readonly [string, string])[] = [
  ['Edge', 'Microsoft\\Edge\\Application\\msedge.exe'],
  ['Chrome', 'Google\\Chrome\\Application\\chrome.exe'],
  ['Chromium', 'Chromium\\Application\\chrome.exe'],
  ['Firefox', 'Mozilla Firefox\\firefox.exe'],
]

function placesToLook({ platform, env }: Place): { name: string; file: string }[] {
  if (platform === 'win32') {
    const folders = [env['ProgramFiles'], env['ProgramFiles(x86)'], env['LOCALAPPDATA']].filter(
      (folder) => folder !== undefined,
    )
    return windowsPrograms.flatMap(([name, file]) => folders.map((folder) => ({ name, file: `${folder}\\${file}` })))
  }
  if (platform === 'darwin') {
    const folders = ['/Applications', join(env['HOME'] ?? homedir(), 'Applications')]
    return macPrograms.flatMap(([name, file]) => folders.map((folder) => ({ name, file: join(folder, file) })))
  }
  const folders = (env['PATH'] ?? '').split(delimiter).filter(Boolean)
  return linuxPrograms.flatMap(([name, file]) => folders.map((folder) => ({ name, file: join(folder, file) })))
}

/**
 * The first installed browser that can be a window of the app; Chromium's family first, as it can hide its address bar.
 */
export function findBrowser(place: Place = here): Browser | undefined {
  const found = placesToLook(place).find(({ file }) => place.isProgram(file))
  return found && { ...found, family: found.name === 'Firefox' ? 'firefox' : 'chromium' }
}

/** Whether this Linux session can show a window; Windows and macOS always can. */
export const hasDisplay = ({ platform, env }: Pick<Place, 'platform' | 'env'> = here): boolean =>
  platform === 'win32' || platform === 'darwin' || Boolean(env['DISPLAY']) || Boolean(env['WAYLAND_DISPLAY'])

/** A folder for the browser's own files. A browser that came as a snap can write only to its own place. */
function makeProfile(file: string): string {
  const snap = /\/snap\/(?:bin\/)?([\w-]+)/.exec(file.startsWith('/snap/') ? file : realpathSync(file))?.[1]
  return makeRunFolder('window', snap ? join(homedir(), 'snap', snap, 'common') : tmpdir())
}

/**
 * A page in the browser's private folder that leads to the address. On the command line every account of this computer
 * could read the address and be first to use it.
 */
export function writeWayIn(profile: string, address: string): string {
  const page = join(profile, 'open.html')
  const text =
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Tareline</title>' +
    `<meta name="referrer" content="no-referrer"><meta http-equiv="refresh" content="0;url=${address}"></html>\n`
  writeFileSync(page, text, { mode: 0o600, flag: 'wx' })
  return pathToFileURL(page).href
}

/** The arguments that open `address` as a window of its own, apart from the person's usual browsing. */
export function windowArguments(browser: Browser, address: string, profile: string, asRoot: boolean): string[] {
  if (browser.family === 'firefox')
    return ['--new-instance', '--no-remote', '--profile', profile, '--new-window', address]
  return [
    `--app=${address}`,
    `--user-data-dir=${profile}`,
    '--no-first-run',
    '--no-default-browser-check',
    '--window-size=1440,900',
    '--disable-sync',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-quic',
    // Chromium's sandbox refuses to run for root; every other user keeps it.
    ...(asRoot ? ['--no-sandbox', '--test-type'] : []),
  ]
}

const ended = (child: ChildProcess): Promise<void> =>
  new Promise((resolve) => {
    child.once('exit', () => resolve())
  })

const started = (child: ChildProcess): Promise<boolean> =>
  new Promise((resolve) => {
    child.once('spawn', () => resolve(true))
    child.once('error', () => resolve(false))
  })

/** Opens the app in the installed browser, or says in a line why there is no window. */
export async function openAppWindow(address: string): Promise<AppWindow> {
  if (!hasDisplay()) return { opened: false, why: 'No window: this session has no display.' }
  const browser = findBrowser()
  if (!browser) return { opened: false, why: 'No window: neither Chromium, Chrome, Edge nor Firefox is installed.' }
  const profile = makeProfile(browser.file)
  const forget = () => rmSync(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 })
  process.once('exit', forget)
  const way = writeWayIn(profile, address)
  const child = spawn(browser.file, windowArguments(browser, way, profile, process.getuid?.() === 0), {
    stdio: 'ignore',
  })
  const closed = ended(child)
  if (!(await started(child))) return { opened: false, why: `No window: ${browser.file} did not start.` }
  return {
    opened: true,
    browser: browser.name,
    closed,
    close: async () => {
      if (child.exitCode === null && child.signalCode === null) child.kill()
      await Promise.race([closed, new Promise((resolve) => setTimeout(resolve, 3000).unref())])
    },
  }
}
