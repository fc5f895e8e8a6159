import { spawn } from 'node:child_process'
import { chromium } from 'playwright-core'
import { openStore } from '#core/store/open.ts'
import { largeDatabase } from '#tests/bench/data.ts'
import { median, megabytes, seconds, times } from '#tests/bench/figures.ts'
import { root, runProgram, withPeakMemory } from '#tests/bench/program.ts'
import type { Section } from '#tests/bench/section.ts'

const launches = 3
const patienceMs = 120_000

interface Launch {
  /** Each in ms since the app was started. */
  readonly served: number
  readonly answered: number
  readonly firstRow: number
  readonly peakBytes: number
}

const browserProgram = () => process.env['TARELINE_CHROMIUM'] ?? 'chromium'

async function pathOf(program: string): Promise<string> {
  return (await runProgram('sh', ['-c', 'command -v "$0"', program])).output.trim()
}

/** Starts the app as `npm start -- --no-window` does, opens its address in a waiting browser, and stops it again. */
async function launch(file: string, browser: Awaited<ReturnType<typeof chromium.launch>>): Promise<Launch> {
  const context = await browser.newContext()
  const page = await context.newPage()
  const peak = withPeakMemory()
  const started = performance.now()
  const since = () => performance.now() - started
  const app = spawn(process.execPath, [...peak.args, 'electron/start.ts', '--no-window', '--db', file], {
    cwd: root,
    env: { ...process.env, ...peak.env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const ended = new Promise<void>((done) => app.once('close', () => done()))
  try {
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
    const served = since()
    const roster = page
      .waitForResponse((response) => /\/rpc\/roster\/list/.test(response.url()), { timeout: patienceMs })
      .then(async (response) => {
        await response.finished()
        return since()
      })
    await page.goto(address, { timeout: patienceMs, waitUntil: 'commit' })
    const answered = await roster
    await page.locator('[role=row][aria-rowindex="2"]').waitFor({ timeout: patienceMs })
    return { served, answered, firstRow: since(), peakBytes: await stop() }
  } finally {
    await context.close()
    await stop()
  }

  async function stop(): Promise<number> {
    if (app.exitCode !== null || app.signalCode !== null) return 0
    app.kill('SIGINT')
    await ended
    return peak.read()
  }
}

export const firstRow: Section = {
  title:
    'Start: from `npm start -- --no-window` to the first row of the Roster in Chromium; 10,000 units, the screens already built, the browser already running',
  against: 'Node starting and ending with nothing to do',
  measure: async () => {
    const file = await largeDatabase()
    const executablePath = await pathOf(browserProgram())
    const args = [
      '--disable-quic',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
      ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
    ]
    const browser = await chromium.launch({ executablePath, args })
    try {
      const node = (await runProgram(process.execPath, ['-e', '0'])).ms
      // The first launch builds the screens where they are old, and is not counted.
      await launch(file, browser)
      const launched: Launch[] = []
      for (let i = 0; i < launches; i += 1) launched.push(await launch(file, browser))
      await forgetAssessment(file)
      const firstOfDay = await launch(file, browser)
      const row = (what: string, ms: number) => ({
        what,
        measured: seconds(ms),
        baseline: seconds(node),
        ratio: `${times(ms / node)} as long`,
      })
      return [
        row('address served', median(launched.map(({ served }) => served))),
        row('first Roster answer in the browser', median(launched.map(({ answered }) => answered))),
        row('first row on screen', median(launched.map((each) => each.firstRow))),
        {
          what: '  peak memory of the app',
          measured: megabytes(Math.max(...launched.map(({ peakBytes }) => peakBytes))),
        },
        row('first row, first opening of the day (fleet judged anew)', firstOfDay.firstRow),
        { what: '  peak memory of the app', measured: megabytes(firstOfDay.peakBytes) },
      ]
    } finally {
      await browser.close()
    }
  },
}

/** Takes the stored outcome away, as if the file had last been opened on another day. */
async function forgetAssessment(file: string): Promise<void> {
  const store = await openStore(file, { mustExist: true })
  await store.db.updateTable('books').set({ judged_for: '2020-01-01T23:59:59.999Z' }).execute()
  await store.close()
}
