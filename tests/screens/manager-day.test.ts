import { admitNewcomer, expect, test } from './demo-fixtures.ts'
import { violations } from './violations.ts'

test.use({ viewport: { width: 1280, height: 800 } })

test.beforeEach(({ page, demoApp }) => admitNewcomer(page, demoApp))

test('the manager’s morning: what cannot be trusted, what is due, a yard alone, and the paper', async ({
  page,
  demoApp,
}) => {
  await page.goto(`${demoApp.origin}/`)
  await expect(page.getByRole('heading', { name: 'Today', level: 1 })).toBeVisible()
  const worst = page.getByRole('region', { name: 'What cannot be trusted, and why' })
  const findings = worst.locator('.today-findings > li')
  await expect(findings.first()).toContainText('uncalibrated')
  for (const part of [/^Due until/, /^Changed since/, 'Weigh next'])
    await expect(page.getByRole('region', { name: part })).toBeVisible()
  await expect(page.getByRole('complementary', { name: 'Before working on the vehicle' })).toBeVisible()
  expect(await violations(page)).toEqual([])

  // The same states on the Roster, the worst first, and the finding that makes the state.
  const first = (await findings.first().getByRole('link').first().textContent()) ?? ''
  const all = await findings.count()
  await page.getByRole('link', { name: /uncalibrated$/ }).click()
  await expect(page.getByRole('grid', { name: 'Units' }).locator('[data-line]').first()).toContainText(first)
  await page.goBack()

  await page.getByRole('combobox', { name: 'Yard' }).selectOption('Salt Bend')
  await expect(page).toHaveURL(/yard=Salt/)
  await expect.poll(() => findings.count()).toBeLessThan(all)
  const waiting = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Save as PDF' }).click()
  expect((await waiting).suggestedFilename()).toMatch(/^today-salt-bend-\d{4}-\d\d-\d\d\.pdf$/)
  const calendar = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Calendar' }).click()
  expect((await calendar).suggestedFilename()).toMatch(/\.ics$/)
  const sheet = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Findings as spreadsheet' }).click()
  expect((await sheet).suggestedFilename()).toMatch(/^findings-.*\.xlsx$/)

  await findings.locator('a[href^="#/unit/"]').first().click()
  await expect(page.getByRole('heading', { name: 'Findings', level: 2 })).toBeVisible()
  await expect(page.getByRole('button', { name: 'Print this sheet' })).toBeVisible()
})

test('the Roster leaves as it is shown', async ({ page, demoApp }) => {
  await page.goto(`${demoApp.origin}/#/roster?trust=doubtful`)
  await page.getByRole('grid', { name: 'Units' }).locator('[data-line]').first().waitFor()
  for (const [button, ending] of [
    ['Save as spreadsheet', 'xlsx'],
    ['Save as PDF', 'pdf'],
  ] as const) {
    const waiting = page.waitForEvent('download')
    await page.getByRole('button', { name: button }).click()
    expect((await waiting).suggestedFilename()).toMatch(new RegExp(`^roster-\\d{4}-\\d\\d-\\d\\d\\.${ending}$`))
  }
})

test('six entries lead to every screen, and fold on a narrow window', async ({ page, demoApp }) => {
  await page.goto(`${demoApp.origin}/#/roster`)
  const bar = page.getByRole('navigation', { name: 'Screens' })
  await expect(bar.locator('.bar-section')).toHaveCount(6)
  await bar.getByRole('link', { name: 'Records' }).click()
  await bar.getByRole('link', { name: 'House Rules' }).click()
  await expect(page.getByRole('heading', { name: 'House Rules', level: 1 })).toBeFocused()
  await expect(bar.getByRole('link', { name: 'House Rules' })).toHaveAttribute('aria-current', 'page')
  for (const width of [768, 390]) {
    await page.setViewportSize({ width, height: 844 })
    await page.goto(`${demoApp.origin}/#/today`)
    await page.getByRole('heading', { name: 'What cannot be trusted, and why' }).waitFor()
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width)
    const unfold = page.getByRole('button', { name: 'Today, all screens' })
    await expect(bar).toBeHidden()
    await unfold.click()
    await expect(bar.getByRole('link', { name: 'Monday’s page' })).toBeVisible()
    expect(await violations(page)).toEqual([])
    await page.keyboard.press('Escape')
    await expect(bar).toBeHidden()
    await expect(unfold).toBeFocused()
    await unfold.click()
    await bar.getByRole('link', { name: 'Copies' }).click()
    await expect(page.getByRole('heading', { name: 'Copies', level: 1 })).toBeVisible()
    await expect(bar).toBeHidden()
  }
})
