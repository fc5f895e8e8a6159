import type { Browser } from 'playwright-core'
import { openStore } from '#core/store/open.ts'
import { largeDatabase } from '#tests/bench/data.ts'
import { median, megabytes, seconds, times } from '#tests/bench/figures.ts'
import { runProgram } from '#tests/bench/program.ts'
import { type Section, atMost } from '#tests/bench/section.ts'
import { openBrowser, startApp } from '#tests/bench/start-app.ts'

const launches = 3
const patienceMs = 120_000
/** What is asked: the first that there is to read within so many times the start of Node. */
const timesNode = 6

interface Launch {
  /** Each in ms since the app was started. */
  readonly served: number
  readonly answered: number
  readonly firstRow: number
  readonly peakBytes: number
}

/** Starts the app, opens its address in a waiting browser, and stops it again. */
async function launch(file: string, browser: Browser): Promise<Launch> {
  const context = await browser.newContext()
  const page = await context.newPage()
  const started = performance.now()
  const since = () => performance.now() - started
  const app = await startApp(file)
  try {
    const served = since()
    const asked = page
      .waitForResponse((response) => /\/rpc\/today\/page/.test(response.url()), { timeout: patienceMs })
      .then(async (response) => {
        await response.finished()
        return since()
      })
    // Playwright looks only every half second; the page itself notes when the first one has been drawn.
    await page.addInitScript(() => {
      const look = () => {
        if (document.querySelector('.today-finding') === null) requestAnimationFrame(look)
        else setTimeout(() => performance.mark('first-finding'))
      }
      requestAnimationFrame(look)
    })
    await page.goto(app.address, { timeout: patienceMs, waitUntil: 'commit' })
    const answered = await asked
    await page.waitForFunction(() => performance.getEntriesByName('first-finding').length > 0, undefined, {
      timeout: patienceMs,
    })
    const drawnAt = await page.evaluate(
      () => performance.timeOrigin + (performance.getEntriesByName('first-finding')[0]?.startTime ?? Number.NaN),
    )
    const firstRow = drawnAt - (performance.timeOrigin + started)
    return { served, answered, firstRow, peakBytes: await app.stop() }
  } finally {
    await context.close()
    await app.stop()
  }
}

export const firstRow: Section = {
  title:
    'Start: from `npm start -- --no-window` to the first finding of Today in Chromium; 10,000 units, the screens already built, the browser already running',
  against: 'Node starting and ending with nothing to do',
  measure: async () => {
    const file = await largeDatabase()
    const browser = await openBrowser()
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
      const firstRowOf = (what: string, ms: number) => ({ ...row(what, ms), goal: atMost(ms / node, timesNode, times) })
      return [
        row('address served', median(launched.map(({ served }) => served))),
        row('first answer in the browser', median(launched.map(({ answered }) => answered))),
        firstRowOf('first finding on screen', median(launched.map((each) => each.firstRow))),
        {
          what: '  peak memory of the app',
          measured: megabytes(Math.max(...launched.map(({ peakBytes }) => peakBytes))),
        },
        firstRowOf('first finding, first opening of the day (fleet judged anew beside it)', firstOfDay.firstRow),
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
