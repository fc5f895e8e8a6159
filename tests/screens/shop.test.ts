import { readFileSync } from 'node:fs'
import type { Download } from '@playwright/test'
import { parse } from 'csv-parse/sync'
import { expect, test } from './demo-fixtures.ts'
import { violations } from './violations.ts'

const textOf = async (download: Download) => readFileSync(await download.path(), 'latin1')

test('by keyboard alone: to the bench, a unit\u2019s work, its cell marked swapped, and the work is gone', async ({
  shop,
  page,
}) => {
  await page.goto(`${shop.origin}/#/roster`)
  await page.getByRole('grid', { name: 'Units' }).waitFor()
  await page.keyboard.press('g')
  await page.keyboard.press('b')
  await expect(page.getByRole('heading', { name: 'Shop Bench' })).toBeFocused()
  const unit = page.getByRole('button', { name: 'T-107', exact: true })
  for (let step = 0; step < 60 && !(await unit.evaluate((button) => button === document.activeElement)); step += 1)
    await page.keyboard.press('Tab')
  await page.keyboard.press('Enter')
  const work = shop.work('T-107')
  await expect(work.getByText('Never tee into brake air.')).toBeVisible()
  await expect(work.getByText(/^Swap the CR\d+ cell of sensor/)).toBeVisible()
  const mark = work.getByRole('button', { name: 'Mark its cell swapped' })
  for (let step = 0; step < 120 && !(await mark.evaluate((button) => button === document.activeElement)); step += 1)
    await page.keyboard.press('Tab')
  await page.keyboard.press('Enter')
  await expect(page.getByLabel('Swapped on')).toBeFocused()
  await page.keyboard.press('Enter')
  await expect(page.getByText('1 cell is marked swapped.')).toBeVisible()
  await expect(work.getByText(/^Swap the CR\d+ cell of sensor .* planned /)).toBeHidden()
  await expect(page.getByRole('button', { name: 'T-107', exact: true })).toBeHidden()
})

test('says since when a dead cell\u2019s sensor is silent, and records it as dead without being told', async ({
  shop,
  page,
}) => {
  await shop.open('?unit=T-119')
  const work = shop.work('T-119')
  await expect(
    work.getByText(/^Swap the .*cell of sensor .* most likely dead: its sensor has been silent since /),
  ).toBeVisible()
  await expect(work.getByRole('cell', { name: /^dead since about \d{4}-\d\d-\d\d$/ })).toBeVisible()
  await work.getByRole('button', { name: 'Mark its dead cell swapped' }).click()
  const dialog = page.getByRole('dialog', { name: /^Mark .*cells swapped$/ })
  await expect(dialog.getByLabel(/^Why(, of all)?$/)).toHaveValue('dead')
  await dialog.getByRole('button', { name: 'Mark swapped' }).click()
  await expect(page.getByText('1 cell is marked swapped.')).toBeVisible()
  await expect(work.getByText(/most likely dead/)).toBeHidden()
})

test('says one word of when a line that cannot be trusted is due: on the bench, its sheet and the Roster', async ({
  shop,
  page,
}) => {
  await shop.open('?when=all&unit=T-104')
  await expect(shop.visit('T-104')).toContainText(/now since \d{4}-\d\d-\d\d \d+ d late/)
  await expect(shop.work('T-104').getByText(/^due now, 45 min/)).toBeVisible()
  await expect(shop.visit('V-228').getByRole('cell', { name: 'now', exact: true })).toBeVisible()
  await expect(shop.visit('V-228').getByText('calibrate tandem', { exact: false })).toHaveText(/^calibrate tandem/)
  await page.goto(`${shop.origin}/#/unit/T-104`)
  await expect(page.locator('.group-facts').getByText(/^now\b/)).toBeVisible()
  await page.goto(`${shop.origin}/#/roster`)
  await expect(page.getByRole('row', { name: /T-104/ })).toContainText('now work since calibration')
})

test('marks many cells in one go, and says in a sentence why it cannot', async ({ shop, page }) => {
  await shop.open('?when=today&yard=Larch+Hollow')
  const before = await shop.visits().count()
  await page.getByRole('checkbox', { name: 'Cells of every visit shown' }).check()
  await shop.mark.click()
  const dialog = page.getByRole('dialog', { name: /^Mark .*cells swapped$/ })
  await dialog.getByLabel('Swapped on').fill('2020-01-01')
  await dialog.getByRole('button', { name: 'Mark swapped' }).click()
  await expect(dialog.getByLabel('Swapped on')).toHaveAccessibleDescription(/2020-01-01/)
  await dialog.getByLabel('Swapped on').fill('')
  await dialog.getByRole('button', { name: 'Mark swapped' }).click()
  await expect(dialog.getByLabel('Swapped on')).toHaveAccessibleDescription(/A day such as/)
  await dialog.getByRole('button', { name: 'Cancel' }).click()
  const first = shop
    .visits()
    .filter({ has: page.getByRole('checkbox') })
    .first()
  await page.getByRole('checkbox', { name: 'Cells of every visit shown' }).uncheck()
  await first.getByRole('checkbox').check()
  await shop.mark.click()
  await dialog.getByLabel(/^Why(, of all)?$/).selectOption('low')
  await dialog.getByRole('button', { name: 'Mark swapped' }).click()
  await expect(page.getByText(/marked swapped\.$/)).toBeVisible()
  await expect.poll(() => shop.visits().count()).toBeLessThanOrEqual(before)
})

test('hands over the work list, the calendar and the CSV of what is shown', async ({ shop, page }) => {
  await shop.open('?when=all&yard=Cinder+Gap')
  const save = async (name: string) => {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name, exact: true }).click(),
    ])
    return download
  }
  const list = await save('Work list (PDF)')
  expect(list.suggestedFilename()).toMatch(/^shop-bench-cinder-gap-\d{4}-\d\d-\d\d\.pdf$/)
  expect((await textOf(list)).slice(0, 5)).toBe('%PDF-')
  const calendar = await textOf(await save('Calendar'))
  expect(calendar).toMatch(/^BEGIN:VCALENDAR\r\n/)
  const rows = parse(await textOf(await save('CSV')), { columns: true }) as Record<string, string>[]
  expect(new Set(rows.map(({ yard }) => yard))).toEqual(new Set(['Cinder Gap']))
  expect(new Set(rows.map(({ unit }) => unit)).size).toBe(await shop.visits().count())
})

test('plans a visit, uses it, brings visits from a file or says what is wrong with it, and takes one back', async ({
  shop,
  page,
  demoApp,
}) => {
  await shop.open('?when=all&unit=T-104')
  const day = new Date(demoApp.now() + 5 * 86_400_000)
  while ([0, 6].includes(day.getUTCDay())) day.setUTCDate(day.getUTCDate() + 1)
  const on = day.toISOString().slice(0, 10)
  await shop.work('T-104').getByLabel('It comes in on').fill(on)
  await shop.work('T-104').getByRole('button', { name: 'Plan visit' }).click()
  await expect(shop.work('T-104').getByText(on, { exact: true })).toBeVisible()
  await page.getByText('Planned visits', { exact: true }).click()
  const file = (text: string) =>
    page
      .getByLabel('CSV file of visits')
      .setInputFiles({ name: 'visits.csv', mimeType: 'text/csv', buffer: Buffer.from(text) })
  await file('unit,date\nX-1,2026-99-99\n')
  await expect(page.getByRole('alert')).toContainText('nothing of the file was stored')
  await file(`unit,date\nV-201,${on}\n`)
  await expect(page.getByText('1 visits added.')).toBeVisible()
  await page.getByRole('button', { name: `Remove the visit of V-201 on ${on}` }).click()
  await expect(page.getByRole('button', { name: /^Remove the visit of V-201/ })).toBeHidden()
})

test('axe finds nothing', async ({ shop, page }) => {
  await shop.open('?when=today&yard=Cinder+Gap&unit=T-111')
  await shop.work('T-111').getByText('Never tee into brake air.').waitFor()
  await page.locator('.shop-unmet summary').first().click()
  expect(await violations(page)).toEqual([])
  await shop.open('?part=lives')
  await page.locator('[data-plot="life"] svg').first().waitFor()
  expect(await violations(page)).toEqual([])
  await shop.open('?part=order')
  await page.getByRole('table', { name: 'Cells to order' }).waitFor()
  expect(await violations(page)).toEqual([])
  await shop.open('?part=cost')
  await page.locator('[data-plot="cost"] svg').first().waitFor()
  expect(await violations(page)).toEqual([])
})

test('the help of a screen with figures gives an example out of what is on it', async ({ shop: { origin }, page }) => {
  for (const [screen, example] of [
    ['today', /^Here: \S+, .+ becomes ± .+ at the limit\.$/],
    ['roster', /^Here: \S+ is doubtful: a weight at its limit is good to ±\s[\d,]+\slb\.$/],
    ['scale-house', /^Here: Mile 88 Fuel Stop has a bias of \+0\.\d\d ±\s0\.\d\d\s%: biased\.$/],
    [
      'monday',
      /^Here: \S+: \d+ of \d+ weighings? over a limit, a rate of [\d.]+\s%, in 95 of 100 cases [\d.]+\s% to [\d.]+\s%: .+\.$/,
    ],
    ['shop', /^Here: \S+, .+\. .+\.$/],
  ] as const) {
    await page.goto(`${origin}/#/${screen}`)
    await page.getByRole('heading', { level: 1 }).waitFor()
    await expect(page.locator('output', { hasText: '…' })).toHaveCount(0)
    await page.getByRole('button', { name: 'Help' }).click()
    await expect(page.getByRole('dialog').getByText(/^Here: /)).toHaveText(example)
    await page.keyboard.press('Escape')
  }
})
