import { readFileSync, readdirSync } from 'node:fs'
import { resolve } from 'node:path'
import type { Page } from '@playwright/test'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { liftStateOf } from '#core/words/vocabulary.ts'
import { startApp } from './app.ts'
import { admitNewcomer, expect, test, workday } from './demo-fixtures.ts'
import { violations } from './violations.ts'

const folder = resolve(import.meta.dirname, '../../demo-data/fleet')

const wordsIn = (text: string): string[] => text.toLowerCase().match(/\p{L}{2,}/gu) ?? []

/** How a lift axle stood and what was done stand in the record and in choices of sentences, but are the program's. */
const isTheirs = (text: string) => liftStateOf(text) === null && text !== 'replaced'

/** Every word that the demo fleet's own record has in it; the headers of its files are no record. */
const recorded = new Set(
  readdirSync(folder).flatMap((file) =>
    wordsIn(readFileSync(resolve(folder, file), 'utf8').split('\n').slice(1).join('\n')).filter(isTheirs),
  ),
)

/** The Spanish words, of which what the core says is made. */
const spanish = new Set(
  Object.values(es).flatMap((text) =>
    wordsIn(text.replaceAll(/\{\w+\}|\{\w+, (plural|select),|<\/?\w+>/g, ' ')).filter(isTheirs),
  ),
)

/** What is the same in every language: units, signs, zones, names of files and of the program. */
const same = new Set(
  wordsIn(
    // What a chart library measures texts with and calls the signs of a legend comes first.
    'autosize measurement legend icon Tareline SQLite Ctrl Esc lb psi ft in kg kPa bar min CSV PDF ZIP JPEG PNG UTC MST ' +
      'MDT CST VIN CR Adair SHA Chromium es demo import fleet folder imported copies',
  ),
)

/** Puts each message of the window in marks, so that what is said past the catalogue stands without. */
async function markMessages(page: Page): Promise<void> {
  const marked = Object.fromEntries(Object.entries(es).map(([key, text]) => [key, `⟦${text}⟧`]))
  await page.route(/\/assets\/es-[^/]*\.js$/, (route) =>
    route.fulfill({ contentType: 'text/javascript', body: `export default ${JSON.stringify(marked)}` }),
  )
}

/** The words that a page shows or tells outside the marks, each text once. */
async function outsideMarks(page: Page): Promise<string[]> {
  const texts = await page.evaluate(() => {
    const found: string[] = []
    // Names of zones, packages and files, and what the log keeps as it was written.
    const leave =
      'datalist, [data-option], .mantine-Select-option, [role="option"], .about-packages, .about-folder, .log-said, script, style, noscript, code, pre, kbd, svg title, select[aria-label^="⟦"] > option[lang]'
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
    // The pieces of one sentence lie side by side in one block: a mark may open in one and close in another.
    const blocks = new Map<Element, string>()
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement
      if (!parent || parent.closest(leave)) continue
      const block =
        parent.closest(
          'p, li, td, th, h1, h2, h3, h4, dt, dd, button, a, label, legend, caption, summary, option, strong, span, div, text',
        ) ?? parent
      blocks.set(block, (blocks.get(block) ?? '') + (node.textContent ?? ''))
    }
    found.push(...blocks.values())
    for (const element of document.body.querySelectorAll('*'))
      for (const name of ['aria-label', 'title', 'placeholder', 'alt', 'data-label'])
        found.push(element.getAttribute(name) ?? '')
    return found
  })
  const bare = (text: string): string => {
    let before = text
    for (;;) {
      const after = before.replaceAll(/⟦[^⟦⟧]*⟧/g, ' ')
      if (after === before) return after.replaceAll(/[⟦⟧]/g, ' ')
      before = after
    }
  }
  const isKnown = (word: string) => dates.has(word) || recorded.has(word) || spanish.has(word) || same.has(word)
  return [
    ...new Set(
      texts
        .map((text) => text.replaceAll(/\/[^\s⟧]*/g, ' '))
        .filter((text) => !wordsIn(bare(text)).every(isKnown))
        .map((text) => text.trim()),
    ),
  ]
}

const named = (options: Intl.DateTimeFormatOptions) =>
  Array.from({ length: 365 }, (_, day) => new Intl.DateTimeFormat('es-US', options).format(Date.UTC(2026, 0, 1 + day)))
/** Names of days and months, and their beginnings in narrow columns. */
const dates = new Set(
  ['long', 'short'].flatMap((length) =>
    [...named({ weekday: length as 'long' }), ...named({ month: length as 'long' })].flatMap((name) => [
      ...wordsIn(name),
      ...wordsIn(name.slice(0, 2)),
    ]),
  ),
)

const screens = [
  'today',
  'roster',
  'unit/T-101',
  // With findings: what drifts, what upset a line, an axle that lifts, circuits of two sides, no line.
  'unit/T-111',
  'unit/T-104',
  'unit/K-02',
  'unit/T-108',
  'unit/V-228',
  'weigh',
  'weigh-in',
  'calibrate',
  'scale-house',
  'scale-house/tickets',
  'scale-house/readings',
  'scale-house/calibrations',
  'ticket/1',
  'reading/1',
  'one-ticket',
  'cab-card/T-109',
  'cab-card/T-111',
  'unsent',
  'heavy',
  'heavy?part=offenders',
  'heavy?part=counts',
  'monday',
  'shop',
  'shop?part=order',
  'shop?part=lives',
  'shop?part=cost',
  'shop?part=weigh',
  'shop?part=visits',
  'shop?when=all&unit=T-111',
  'house-rules',
  'fleet',
  'record/T-101',
  'folder',
  'foreign',
  'copies',
  'safekeeping',
  'share',
] as const

test('a person chooses a language in the bar, and it stays', async ({ page, demoApp }) => {
  await admitNewcomer(page, demoApp)
  await page.goto(`${demoApp.origin}/#/roster`)
  await expect(page.getByRole('heading', { name: 'Roster' })).toBeVisible()
  await page.getByRole('combobox', { name: 'Language' }).selectOption('español')
  await expect(page.getByRole('heading', { name: 'Lista' })).toBeVisible()
  await expect(page.locator('html')).toHaveAttribute('lang', 'es')
  expect(await violations(page)).toEqual([])
  await page.goto(`${demoApp.origin}/#/unit/T-101`)
  await expect(page.getByRole('button', { name: 'Tarjeta de cabina' })).toBeVisible()
  await page.reload()
  await page.getByRole('combobox', { name: 'Idioma' }).selectOption('français (Canada)')
  await expect(page.locator('html')).toHaveAttribute('lang', 'fr-CA')
  await expect(page.getByRole('combobox', { name: 'Langue' })).toBeVisible()
  // A browser that forgets is told by the desk.
  await page.evaluate(() => localStorage.removeItem('tareline-language'))
  await page.reload()
  await expect(page.locator('html')).toHaveAttribute('lang', 'fr-CA')
  await page.getByRole('combobox', { name: 'Langue' }).selectOption('English')
  await expect(page.getByRole('combobox', { name: 'Language' })).toBeVisible()
})

test('no main screen has words outside the catalogues, but for the record', async ({ page }) => {
  test.setTimeout(300_000)
  // A demo of its own: what other tests type in words of their own is no word of the program.
  const app = await startApp({ demo: true, clock: workday })
  await admitNewcomer(page, app)
  await page.addInitScript(() => localStorage.setItem('tareline-language', 'es'))
  await markMessages(page)
  const outside: Record<string, string[]> = {}
  for (const screen of screens) {
    await page.goto(`${app.origin}/#/${screen}`)
    await page.getByRole('heading', { level: 1 }).first().waitFor()
    // What is still being read stands in a quiet output with dots at its end.
    await expect(page.locator('output', { hasText: '…⟧' })).toHaveCount(0)
    const found = await outsideMarks(page)
    if (found.length > 0) outside[screen] = found
  }
  await app.stop()
  expect(outside).toEqual({})
})

/** Words of a long list that are cut, but for a name that the pointer shows whole. */
const cutWords = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll('.line td')].flatMap((cell) => {
      const isCut = [cell, ...cell.querySelectorAll(':not(.unheard)')].some(
        ({ scrollWidth, clientWidth, scrollHeight, clientHeight }) =>
          clientWidth > 0 && (scrollWidth > clientWidth + 1 || scrollHeight > clientHeight + 2),
      )
      return isCut && !cell.querySelector('[title]') ? [cell.textContent ?? ''] : []
    }),
  )

for (const language of ['es', 'fr-CA'])
  test(`the long lists cut no word in ${language}, wide or narrow`, async ({ page, demoApp }) => {
    await admitNewcomer(page, demoApp)
    await page.addInitScript((spoken) => localStorage.setItem('tareline-language', spoken), language)
    for (const width of [1280, 390])
      for (const screen of ['roster', 'heavy']) {
        await page.setViewportSize({ width, height: 800 })
        await page.goto(`${demoApp.origin}/#/${screen}`)
        await page.locator('.line').first().waitFor()
        await expect.poll(() => cutWords(page), { message: `${screen}, ${width} px wide` }).toEqual([])
      }
  })

test.describe('a German window', () => {
  test.use({ locale: 'de-DE' })

  test('writes and reads numbers in its own way, and asks where one can be meant in two', async ({ weigh, page }) => {
    await weigh.open()
    await weigh.pick('T-101')
    const pressure = weigh.pressure('T-101 drive')
    await pressure.fill('82,5')
    await expect(weigh.weight('T-101 drive')).toContainText(/\d\d\.\d{3}/)
    await pressure.fill('5,200')
    await expect(page.getByText('“5,200” can be 5,2 or 5200: type it as one of these')).toBeVisible()
  })
})
