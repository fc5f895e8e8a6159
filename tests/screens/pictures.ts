import { mkdirSync } from 'node:fs'
import { resolve } from 'node:path'
import { type Browser, chromium, type Page } from 'playwright-core'
import { type App, startApp } from '#tests/screens/app.ts'
import { chromiumArguments, findChromium } from '#tests/screens/chromium.ts'

/** Takes the README's pictures of the demo fleet, in light and dark: `npm run pictures`. */

const root = resolve(import.meta.dirname, '../..')
const folder = resolve(root, 'demo-data/screens')
const drifting = 'T-111'

interface Picture {
  readonly name: string
  readonly address: string
  /** Goes on from the address to what the picture shows. */
  readonly prepare: (page: Page) => Promise<void>
}

const heading = (page: Page, name: string) => page.getByRole('heading', { name }).first()

const pictures: readonly Picture[] = [
  { name: 'roster', address: '#/roster', prepare: (page) => page.getByRole('row').nth(8).waitFor() },
  { name: 'unit-sheet', address: `#/unit/${drifting}`, prepare: (page) => page.locator('svg.recharts-surface').first().waitFor() },
  {
    name: 'track', address: `#/unit/${drifting}`,
    prepare: async (page) => {
      await heading(page, 'Track').waitFor()
      await heading(page, 'Track').evaluate((element) => {
        element.style.scrollMarginTop = '12px'
        element.scrollIntoView({ block: 'start', behavior: 'instant' })
      })
    },
  },
  { name: 'scales', address: '#/scale-house', prepare: (page) => page.getByRole('row').nth(4).waitFor() },
  { name: 'house-rules', address: '#/house-rules', prepare: (page) => page.getByRole('row').nth(4).waitFor() },
]

async function open(browser: Browser, app: App, scheme: 'light' | 'dark'): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, colorScheme: scheme, timezoneId: 'America/Denver', locale: 'en-US' })
  await context.addCookies([{ ...app.cookie, url: app.origin }])
  return context.newPage()
}

async function take(page: Page, name: string, scheme: string): Promise<void> {
  // The chart's code is loaded when it is first needed; a picture taken before that would show its place only.
  await page.waitForLoadState('networkidle')
  await page.waitForTimeout(800)
  await page.screenshot({ path: resolve(folder, `${name}-${scheme}.png`) })
}

mkdirSync(folder, { recursive: true })
const browser = await chromium.launch({ executablePath: findChromium(), args: chromiumArguments })
const demo = await startApp({ demo: true })
const started = [demo]
try {
  for (const scheme of ['light', 'dark'] as const) {
    const page = await open(browser, demo, scheme)
    for (const { name, address, prepare } of pictures) {
      await page.goto('about:blank')
      await page.goto(`${demo.origin}/${address}`)
      await prepare(page)
      await take(page, name, scheme)
    }
    const empty = await startApp()
    started.push(empty)
    const folderPage = await open(browser, empty, scheme)
    await folderPage.goto(`${empty.origin}/#/folder`)
    await folderPage.getByRole('textbox', { name: 'Or a folder on this computer' }).fill('demo-data/fleet')
    await folderPage.getByRole('button', { name: 'Bring in', exact: true }).click()
    await folderPage.getByRole('table', { name: 'Rows of each file' }).waitFor()
    await take(folderPage, 'bring-in', scheme)
  }
} finally {
  await Promise.all(started.map((app) => app.stop()))
  await browser.close()
}
