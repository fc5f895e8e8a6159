import { spawn } from 'node:child_process'
import { findElectron } from '#electron/launch/electron-program.ts'
import type { StartOptions } from '#electron/options.ts'

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
  const startedAt = Date.now()
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
  const failedAtOnce = ended !== 0 && ended !== refusedCode && Date.now() - startedAt < startMs
  if (failedAtOnce) return { ran: false, why: `Electron ended at once (${ended ?? 'by a signal'})` }
  return { ran: true, code: ended ?? 1 }
}
