import { type App, startApp } from './app.ts'
import { admit, expect, test } from './fixtures.ts'
import { HouseRulesPage } from './pages/house-rules-page.ts'
import { ShopPage } from './pages/shop-page.ts'
import { WeighPage } from './pages/weigh-page.ts'

/** Seven in the evening of a Wednesday in Denver: by UTC, and by the browser's zone, the day after. */
const evening = Date.parse('2026-11-26T02:00:00Z')
const denver = 'America/Denver'

let app: App
test.beforeAll(async () => {
  app = await startApp({ demo: true, clock: evening })
  const { zone } = await app.client.houseRules.zone()
  await app.client.houseRules.changeZone({ was: zone, zone: denver, by: 'M. Adair' })
})
test.afterAll(() => app.stop())
test.beforeEach(async ({ page }) => {
  await admit(page, app)
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
})

test('a visit is planned for today in the evening, and a day of the Heavy Log is the fleet’s', async ({ page }) => {
  const shop = new ShopPage(page, app.origin)
  await shop.open('?when=all&unit=T-104')
  const work = shop.work('T-104')
  await work.getByLabel('It comes in on').fill('2026-11-24')
  await work.getByRole('button', { name: 'Plan visit' }).click()
  await expect(work.getByLabel('It comes in on')).toHaveAccessibleDescription(/2026-11-24 has passed/)
  await work.getByLabel('It comes in on').fill('2026-11-25')
  await work.getByRole('button', { name: 'Plan visit' }).click()
  await expect(work.getByText('2026-11-25', { exact: true })).toBeVisible()
  await page.goto(`${app.origin}/#/heavy`)
  await page.getByLabel('Period').selectOption('Last 30 days')
  await expect(page.getByLabel('First day')).toHaveValue('2026-10-27')
})

test('a reading of the hour that comes twice is saved once a person has said which of the two', async ({ page }) => {
  const weigh = new WeighPage(page, app.origin)
  await weigh.open('T-109')
  await weigh.pressure('T-109 drive left').fill('55')
  const which = page.getByRole('combobox', { name: 'Taken at: which of the two' })
  await expect(which).toBeHidden()
  await page.getByLabel('Taken at', { exact: true }).fill('2026-11-01T01:30')
  await expect(which).toBeVisible()
  await page.getByRole('button', { name: 'Save as a reading' }).click()
  await expect(page.getByText('comes twice that night: choose the first or the second.')).toBeVisible()
  await which.selectOption('the second, MST')
  await expect(page.getByText('comes twice that night: choose')).toBeHidden()
  await page.getByRole('button', { name: 'Save as a reading' }).click()
  await expect(page.getByText('Saved as reading W-20261101-1')).toBeVisible()
  const [added] = (await app.client.log.list({ subject: 'reading' })).rows
  expect(added?.fields).toContainEqual({ name: 'taken_at', old: null, new: '2026-11-01T08:30:00.000Z' })
  await page.getByLabel('Taken at', { exact: true }).fill('2026-03-08T02:30')
  await expect(page.getByRole('alert').first()).toContainText('is left out by the clocks that day')
})

test('the zone is found by its name, saved with a name, and every screen follows', async ({ page }) => {
  const rules = new HouseRulesPage(page, app.origin)
  await page.goto(`${app.origin}/#/log`)
  await expect(page.getByRole('row').nth(1)).toContainText('MST')
  await rules.open()
  const zone = page.getByRole('combobox', { name: 'Time zone in which the fleet counts its days' })
  await expect(zone).toHaveValue(denver)
  await zone.click()
  await zone.fill('berlin')
  await page.getByRole('option', { name: 'Europe/Berlin' }).click()
  await page.getByRole('button', { name: 'Save the time zone' }).click()
  await expect(page.getByText('Saved. The fleet’s days are counted in Europe/Berlin.')).toBeVisible()
  await page.goto(`${app.origin}/#/log`)
  const first = page.getByRole('row').nth(1)
  await expect(first).toContainText('Time zone in which the fleet counts its days')
  await expect(first).toContainText('2026-11-26 03:0')
  await expect(first).toContainText('GMT+1')
})
