import type { Page } from '@playwright/test'
import { type App, startApp } from './app.ts'
import { admit, expect, test as base } from './fixtures.ts'
import { browserPlace } from './chromium.ts'
import { axeOn } from './violations.ts'

/** A phone, a window at twice its size (1280 by 800 at 200 %), a tablet upright and across; px. */
const sizes = [
  { width: 390, height: 844 },
  { width: 640, height: 400 },
  { width: 768, height: 1024 },
  { width: 1024, height: 768 },
] as const

const longName = 'The long yard behind the old quarry by the bridge, north gate'.slice(0, 60)

/** A Wednesday on which the demo's story has just ended. */
const test = base.extend<object, { look: (screen: string) => Promise<Page> }>({
  // All tests look through one window, which changes nothing: a new one for each reads all scripts anew.
  look: [
    async ({ browser }, use) => {
      const app = await startApp({ demo: true, clock: Date.parse('2026-11-25T18:00:00Z') })
      await nameAtLength(app)
      const page = await (await browser.newContext(browserPlace)).newPage()
      await admit(page, app)
      await use(async (screen) => {
        await page.setViewportSize(sizes[0])
        await page.goto(`${app.origin}/#/${screen}`)
        await page.reload()
        return page
      })
      await page.context().close()
      await app.stop()
    },
    { scope: 'worker', timeout: 120_000 },
  ],
})

/** Gives a yard and a scale of the demo, and a make, names of sixty characters. */
async function nameAtLength({ client }: App): Promise<void> {
  const { yards, scales } = await client.fleet.basics()
  const { unit } = await client.fleet.unit({ unit: 'T-104' })
  const hand = { parent: {}, reason: 'a long name', localZone: null, workedAt: null, by: 'Ada' }
  const [yard] = yards
  const [scale] = scales
  if (!yard || !scale) throw new Error('The demo has no yard or no scale.')
  for (const [subject, record, values] of [
    ['yard', yard, { name: longName }],
    ['scale', scale, { name: longName.replace('yard', 'scale') }],
    ['unit', unit, { make: longName.replace('yard', 'make') }],
  ] as const)
    await client.fleet.save({ ...hand, subject, id: record.id, was: record.values, values })
}

/** Every screen, with the parts that are drawn apart. */
const screens = [
  'today',
  'roster',
  'unit/T-104',
  'unit/T-111',
  'unit/V-218',
  'record/T-104',
  'fleet',
  'scale-house',
  'weigh?unit=T-109',
  'weigh-in',
  'one-ticket',
  'unsent',
  'cab-card/T-109',
  'calibrate/T-104',
  'ticket/1',
  'reading/1',
  'heavy',
  'heavy?part=offenders',
  'heavy?part=changed',
  'monday',
  'shop',
  'shop?part=lives',
  'shop?part=order',
  'house-rules',
  'log',
  'folder',
  'foreign',
  'copies',
  'safekeeping',
  'share',
  'about',
]

/** What stands beyond the window's edge without a bar of its own to scroll it by, and stops of Tab without a name. */
const misplaced = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const named = (element: Element) =>
      `${element.tagName.toLowerCase()}.${element.getAttribute('class') ?? ''} "${(element.textContent ?? '').slice(0, 40)}"`
    const width = document.documentElement.clientWidth
    const main = document.querySelector('.shell-main')
    const found: string[] = []
    if (document.documentElement.scrollWidth > width) found.push('the page is wider than the window')
    if (main && main.scrollWidth > main.clientWidth) found.push('the screen is wider than the window')
    const ownBar = (element: Element) => {
      for (let up = element.parentElement; up && up !== main; up = up.parentElement)
        if (getComputedStyle(up).overflowX !== 'visible') return true
      return false
    }
    for (const element of document.querySelectorAll('#root *')) {
      const { left, right, width: own } = element.getBoundingClientRect()
      if (own > 1 && (right > width + 1 || left < -1) && !ownBar(element))
        found.push(`beyond the edge, ${Math.round(left)} to ${Math.round(right)}: ${named(element)}`)
    }
    for (const element of document.querySelectorAll('svg [tabindex="0"]'))
      if (!element.getAttribute('aria-label')) found.push(`a stop without a name: ${named(element)}`)
    return found.slice(0, 5)
  })

/** Targets under 24 px that lie too close to others. Source: WCAG 2.2, success criterion 2.5.8. */
async function smallTargets(page: Page): Promise<string[]> {
  const { violations } = await (await axeOn(page)).withRules(['target-size']).analyze()
  return violations.flatMap(({ nodes }) => nodes.map(({ html }) => html.slice(0, 160)))
}

test.setTimeout(120_000)

for (const screen of screens)
  test(`${screen} fits a phone, a tablet and a window at 200 %`, async ({ look }) => {
    const page = await look(screen)
    await page.getByRole('heading', { level: 1 }).waitFor()
    await expect(page.locator('.shell-wait')).toHaveCount(0)
    for (const size of sizes) {
      await page.setViewportSize(size)
      await expect.poll(() => misplaced(page), { message: `${size.width} px wide` }).toEqual([])
      expect.soft(await smallTargets(page), `${size.width} px wide`).toEqual([])
    }
  })

/** Controls of the bar whose words do not fit into them; a file's name may be longer than any bar, and is shown whole. */
const cutInBar = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll('.bar :is(a, button, select, .bar-person-name):not(.bar-file-name)')]
      .filter((element) => element.getClientRects().length > 0 && element.scrollWidth > element.clientWidth + 1)
      .map((element) => element.textContent ?? ''),
  )

for (const language of ['es', 'fr-CA'])
  test(`the bar and the ruler of three groups fit in ${language} as well`, async ({ look }) => {
    const page = await look('unit/K-02')
    await page.evaluate((spoken) => localStorage.setItem('tareline-language', spoken), language)
    await page.reload()
    await page.getByRole('tab').first().waitFor()
    for (const width of [390, 640, 768, 1024, 1110, 1250]) {
      await page.setViewportSize({ width, height: 800 })
      await expect.poll(() => misplaced(page), { message: `${width} px wide` }).toEqual([])
      expect(await cutInBar(page), `${width} px wide`).toEqual([])
    }
    await page.evaluate(() => localStorage.setItem('tareline-language', 'en'))
  })
