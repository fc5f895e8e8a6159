import { copyFileSync } from 'node:fs'
import type { Page } from 'playwright-core'
import { largeDatabase, scratchDatabase } from '#tests/bench/data.ts'
import { milliseconds } from '#tests/bench/figures.ts'
import { runProgram } from '#tests/bench/program.ts'
import { type Measurement, type Section, atMost } from '#tests/bench/section.ts'
import { openBrowser, startApp } from '#tests/bench/start-app.ts'

const longestMs = 33
const patienceMs = 120_000
const rows = '[role=row][aria-rowindex="2"], tbody tr'

interface List {
  readonly name: string
  readonly address: string
  /** What scrolls: the frame of a list's own, or the page. */
  readonly scrolls: string
  /** Where a search is typed, and what. */
  readonly search?: { readonly field: string; readonly text: string }
}

const lists: readonly List[] = [
  {
    name: 'Roster',
    address: '#/roster',
    scrolls: '.line-frame',
    search: { field: '[aria-label="Search units"]', text: 'brennock r8' },
  },
  { name: 'Heavy Log', address: '#/heavy', scrolls: '.line-frame' },
  {
    name: 'tickets',
    address: '#/scale-house/tickets',
    scrolls: '#main',
    search: { field: '[type=search]', text: 'alder flat' },
  },
  { name: 'sensors', address: '#/fleet', scrolls: '#main', search: { field: '[type=search]', text: 'T0001' } },
]

/** Waits so many frames while something goes on in the page, and answers how long each took, ms. */
const framesWhile = (page: Page, count: number): Promise<number[]> =>
  page.evaluate(
    (frames) =>
      new Promise<number[]>((done) => {
        const gaps: number[] = []
        let last: number | undefined
        const step = (now: number) => {
          if (last !== undefined) gaps.push(now - last)
          last = now
          if (gaps.length < frames) requestAnimationFrame(step)
          else done(gaps)
        }
        requestAnimationFrame(step)
      }),
    count,
  )

/** Scrolls three lines a frame, and answers how long each frame took, ms. */
const scrolled = (page: Page, scrolls: string): Promise<number[]> =>
  page.evaluate(
    (selector) =>
      new Promise<number[]>((done, failed) => {
        const frame = document.querySelector(selector) ?? document.documentElement
        const gaps: number[] = []
        let last: number | undefined
        const step = (now: number) => {
          if (last !== undefined) gaps.push(now - last)
          last = now
          frame.scrollTop += 90
          if (gaps.length < 150) requestAnimationFrame(step)
          else if (frame.scrollTop > 0) done(gaps)
          else failed(new Error(`${selector} does not scroll`))
        }
        requestAnimationFrame(step)
      }),
    scrolls,
  )

/** Types as a quick typist does, a key every 80 ms. */
async function typed(page: Page, { field, text }: NonNullable<List['search']>): Promise<number[]> {
  await page.locator(field).first().fill('')
  const watched = framesWhile(page, Math.ceil((text.length * 80) / 16) + 60)
  await page.keyboard.type(text, { delay: 80 })
  return await watched
}

/** Others use the processors of a machine too: the pass in the middle of three counts. */
async function inTheMiddle(pass: () => Promise<number[]>): Promise<number[]> {
  const passes = [await pass(), await pass(), await pass()]
  return passes.toSorted((a, b) => Math.max(...a) - Math.max(...b))[1] ?? []
}

const rowOf = (what: string, frames: readonly number[]): Measurement => {
  const longest = Math.max(...frames)
  return {
    what,
    measured: `${milliseconds(longest)}, ${frames.filter((ms) => ms > longestMs).length} of ${frames.length} over ${longestMs} ms`,
    goal: atMost(longest, longestMs, milliseconds),
  }
}

async function measure(): Promise<Measurement[]> {
  const { file, remove } = scratchDatabase('frames')
  copyFileSync(await largeDatabase(), file)
  await runProgram(process.execPath, ['tests/bench/catch-up-apart.ts', file])
  const app = await startApp(file)
  const browser = await openBrowser()
  try {
    const page = await browser.newPage()
    await page.goto(app.address, { timeout: patienceMs })
    const measured: Measurement[] = []
    for (const { name, address, scrolls, search } of lists) {
      await page.evaluate((hash) => location.assign(hash), address)
      await page.locator(rows).first().waitFor({ timeout: patienceMs })
      await page.waitForTimeout(1000)
      measured.push(rowOf(`${name}: longest frame while scrolling`, await inTheMiddle(() => scrolled(page, scrolls))))
      if (search)
        measured.push(rowOf(`${name}: longest frame while typing`, await inTheMiddle(() => typed(page, search))))
    }
    return measured
  } finally {
    await browser.close()
    await app.stop()
    remove()
  }
}

export const frames: Section = {
  title:
    'Frames of lists of 10,000 units, 1,000,000 rows of readings, in Chromium without its window; the middle of three passes',
  against: 'a screen of 60 frames a second, of which one may be missed',
  measure,
}
