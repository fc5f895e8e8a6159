import type { Page } from '@playwright/test'
import type { App } from './app.ts'
import { startApp } from './app.ts'
import { admit, test as base, expect } from './fixtures.ts'
import { measureSystems } from '#core/words/measures.ts'
import { HeavyPage } from './pages/heavy-page.ts'
import { HouseRulesPage } from './pages/house-rules-page.ts'
import { ShopPage } from './pages/shop-page.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighPage } from './pages/weigh-page.ts'
import { some } from '#tests/some.ts'

/** The demo fleet in kg and bar; an app of its own, since a rule is the whole fleet's. */
const test = base.extend<{ kgPage: Page }, { kgApp: App }>({
  kgApp: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startApp({ demo: true })
      await app.client.houseRules.change({ name: 'measures', value: 2, was: 0, by: 'M. Adair' })
      await use(app)
      await app.stop()
    },
    { scope: 'worker', timeout: 120_000 },
  ],
  kgPage: async ({ page, kgApp }, use) => {
    await admit(page, kgApp)
    await use(page)
  },
})

/** Everything that a page tells, to the eye or to a screen reader. */
const told = (page: Page): Promise<string> =>
  page.evaluate(() => {
    const texts: string[] = []
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
    while (walker.nextNode()) texts.push(walker.currentNode.textContent ?? '')
    for (const element of document.body.querySelectorAll('*'))
      for (const name of ['aria-label', 'title', 'placeholder', 'aria-description'])
        texts.push(element.getAttribute(name) ?? '')
    return texts.filter((text) => text.trim() !== '').join('\n')
  })

/** The lines that tell a measure which is not in use. */
async function strangers(page: Page): Promise<string[]> {
  return (await told(page)).split('\n').filter((text) => /(?<![\w-])(lbs?|psi|ft|pounds?|feet)(?![\w-])/i.test(text))
}

async function expectInUse(page: Page): Promise<void> {
  expect(await strangers(page)).toEqual([])
  expect(await told(page)).toMatch(/\bkg\b/)
}

test('the Unit sheets of a unit for each finding of the fleet say no lb, psi or ft', async ({ kgPage, kgApp }) => {
  const { rows } = await kgApp.client.roster.list()
  expect(rows.length).toBeGreaterThan(10)
  const unit = new UnitPage(kgPage, kgApp.origin)
  const seen = new Set<string>()
  for (const { unit: number, findingCodes } of rows) {
    if (findingCodes.every((code) => seen.has(code))) continue
    for (const code of findingCodes) seen.add(code)
    await unit.open(number)
    await kgPage.getByRole('region', { name: 'Newest readings' }).waitFor()
    // The axles are drawn once their width is known.
    await kgPage.getByRole('tab').first().waitFor()
    expect({ number, strangers: await strangers(kgPage) }).toEqual({ number, strangers: [] })
    for (const tab of some(await kgPage.getByRole('tab').all())) {
      await tab.click()
      expect({ number, strangers: await strangers(kgPage) }).toEqual({ number, strangers: [] })
    }
  }
  expect(seen.size).toBeGreaterThan(6)
})

test('charts and tables of a line, its track and its checks say no lb or psi', async ({ kgPage, kgApp }) => {
  const unit = new UnitPage(kgPage, kgApp.origin)
  await unit.open('T-109')
  for (const view of ['Chart', 'Table'] as const) {
    for (const of of ['Lines', 'Track', 'Checks'] as const) {
      await unit.show(view, of)
      await expectInUse(kgPage)
    }
  }
})

test('the fleet’s own figures keep two digits of what they are good to, in bar as well', async ({ kgPage, kgApp }) => {
  await kgPage.goto(`${kgApp.origin}/#/scale-house`)
  for (const unit of ['bar', 'bar per root month'])
    await expect(
      kgPage
        .getByRole('definition')
        .filter({ hasText: new RegExp(`0\\.\\d*[1-9]\\d* ±\\s0\\.0*[1-9]\\d\\s${unit} ?95`) }),
    ).toHaveCount(1)
})

test('the Roster says no lb or psi', async ({ kgPage, kgApp }) => {
  await kgPage.goto(`${kgApp.origin}/#/roster`)
  await kgPage.getByRole('grid', { name: 'Units' }).waitFor()
  await kgPage.getByRole('row').nth(3).waitFor()
  await expectInUse(kgPage)
})

test('the page of a day and Monday’s page say no lb or psi', async ({ kgPage, kgApp }) => {
  await kgPage.goto(`${kgApp.origin}/`)
  await kgPage.getByRole('heading', { name: 'What cannot be trusted, and why' }).waitFor()
  await expectInUse(kgPage)
  await kgPage.goto(`${kgApp.origin}/#/monday`)
  await kgPage.getByRole('heading', { name: 'By unit' }).waitFor()
  expect(await strangers(kgPage)).toEqual([])
})

test('Weigh now says no lb or psi: with pressures typed, and with reasons why there is no weight', async ({
  kgPage,
  kgApp,
}) => {
  const weigh = new WeighPage(kgPage, kgApp.origin)
  await weigh.open('T-109')
  await weigh.pressure('T-109 drive left').fill('0.01')
  await expect(weigh.weight('T-109 drive')).toContainText('was not weighed')
  await expectInUse(kgPage)
  await weigh.pressure('T-109 drive left').fill('3.8')
  await weigh.pressure('T-109 drive right').fill('3.8')
  await weigh.pressure('F-308 spread front').fill('3.8')
  await weigh.pressure('F-308 spread rear').fill('3.8')
  await expect(weigh.weight('T-109 drive')).toContainText(/±\s\d+/)
  await expectInUse(kgPage)
  await weigh.pressure('T-109 drive left').fill('4000')
  await expect(kgPage.getByRole('alert').first()).toContainText('bar')
  await expectInUse(kgPage)
})

test('the Heavy Log says no lb or psi', async ({ kgPage, kgApp }) => {
  const heavy = new HeavyPage(kgPage, kgApp.origin)
  await heavy.open()
  await heavy.lines().first().waitFor()
  await expectInUse(kgPage)
  await heavy.lines().first().click()
  await heavy.note.waitFor()
  await expectInUse(kgPage)
  for (const part of ['Offenders', 'Months, yards, limits'] as const) {
    await heavy.show(part)
    expect(await strangers(kgPage)).toEqual([])
  }
})

test('the Shop Bench says no lb or psi', async ({ kgPage, kgApp }) => {
  const shop = new ShopPage(kgPage, kgApp.origin)
  await shop.open()
  const repairs = async () => {
    const { visits } = await kgApp.client.bench.plan({})
    return visits
      .flatMap(({ items }) => items.filter(({ kind }) => kind === 'repair').map(({ what }) => what))
      .join('\n')
  }
  expect(await repairs()).toMatch(/\d (kg|bar)\b/)
  expect(await repairs()).not.toMatch(/\b(lb|psi)\b/)
  await kgApp.client.houseRules.change({ name: 'measures', value: 0, was: 2, by: 'M. Adair' })
  expect(await repairs()).toMatch(/\d (lb|psi)\b/)
  await kgApp.client.houseRules.change({ name: 'measures', value: 2, was: 0, by: 'M. Adair' })
  // The open window follows both changes, a moment after each.
  await expect.poll(() => strangers(kgPage)).toEqual([])
  await shop.open('?part=weigh')
  await kgPage.getByRole('table', { name: 'Weigh this week' }).waitFor()
  await expectInUse(kgPage)
})

test('the House Rules say no lb or psi but in the measures to choose from', async ({ kgPage, kgApp }) => {
  const rules = new HouseRulesPage(kgPage, kgApp.origin)
  await rules.open()
  const sources = await kgPage.locator('.rule-source').allInnerTexts()
  expect(sources.length).toBeGreaterThan(40)
  expect(sources.filter((source) => /\d\skg\b/.test(source)).length).toBeGreaterThan(1)
  await rules.set('Limit of a tandem', '500000')
  await expect(rules.problem('Limit of a tandem')).toContainText(/kg is accepted/)
  const choices = [...measureSystems, measureSystems.join('; ')] as readonly string[]
  expect((await strangers(kgPage)).filter((text) => !choices.includes(text))).toEqual([])
})

test('what was set aside is told in the measures in use, in the sheet and in the log', async ({ kgPage, kgApp }) => {
  const { client } = kgApp
  const { rows } = await client.roster.list()
  const sheets = []
  for (const { unit } of rows.filter(({ worstFinding }) => worstFinding !== null))
    sheets.push(await client.unit.sheet({ unit }))
  const found = sheets
    .flatMap(({ unit, findings }) => findings.map((finding) => ({ unit: unit.number, ...finding })))
    .find(({ severity, message }) => severity !== 'stop' && /\bkg\b/.test(message))
  if (!found) throw new Error('no finding of the demo fleet tells a weight')
  await client.finding.dismiss({ id: found.id, reason: 'known', by: 'M. Adair' })
  const { setAside } = await client.unit.sheet({ unit: found.unit })
  expect(setAside.map(({ message }) => message)).toContain(found.message)
  const { rows: log } = await client.log.list({ subject: 'finding' })
  expect(log[0]?.fields).toEqual([{ name: 'message', old: found.message, new: null }])
  await kgPage.goto(`${kgApp.origin}/#/log`)
  await expect(kgPage.getByText(found.message)).toBeVisible()
})
