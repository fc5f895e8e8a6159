import { spawn } from 'node:child_process'
import { type Browser, chromium } from 'playwright-core'
import { root, withPeakMemory } from '#tests/bench/program.ts'
import { chromiumArguments, findChromium } from '#tests/screens/chromium.ts'

export interface StartedApp {
  readonly address: string
  /** Ends it, and answers the largest memory that it held, bytes; 0 where it has ended already. */
  stop(): Promise<number>
}

/** Starts the app on a file as `npm start -- --no-window` does; resolves once it serves its address. */
export async function startApp(file: string): Promise<StartedApp> {
  const peak = withPeakMemory()
  const app = spawn(process.execPath, [...peak.args, 'electron/run.js', 'start', '--no-window', '--db', file], {
    cwd: root,
    env: { ...process.env, ...peak.env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const ended = new Promise<void>((done) => app.once('close', () => done()))
  const stop = async () => {
    if (app.exitCode !== null || app.signalCode !== null) return 0
    app.kill('SIGINT')
    await ended
    return peak.read()
  }
  const address = await new Promise<string>((found, fail) => {
    let text = ''
    let complaints = ''
    app.stderr.on('data', (part: Buffer) => {
      complaints += part.toString()
    })
    app.stdout.on('data', (part: Buffer) => {
      text += part.toString()
      const match = /http:\/\/127\.0\.0\.1:\d+\/\S*/.exec(text)
      if (match) found(match[0])
    })
    app.once('close', () => fail(new Error(`the app ended before it served anything:\n${text}${complaints}`)))
  })
  return { address, stop }
}

/** The browser that stands in for the window. */
export const openBrowser = (): Promise<Browser> =>
  chromium.launch({ executablePath: findChromium(), args: chromiumArguments })
