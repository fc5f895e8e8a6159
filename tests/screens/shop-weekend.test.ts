import { type App, startApp } from './app.ts'
import { admitNewcomer, test as base, expect } from './demo-fixtures.ts'
import { ShopPage } from './pages/shop-page.ts'
import { Typist } from './typist.ts'
import { violations } from './violations.ts'

/** A Saturday, on which no bench of the demo fleet works by the House Rules. */
const saturday = Date.parse('2026-11-28T18:00:00Z')

/**
 * The demo fleet on a weekend, in an app that only these tests change; each keeps to a yard of its own or comes last.
 */
const test = base.extend<{ bench: ShopPage; typist: Typist }, { weekendApp: App }>({
  weekendApp: [
    // biome-ignore lint/correctness/noEmptyPattern: the test runner reads the needed fixtures off this pattern
    async ({}, use) => {
      const app = await startApp({ demo: true, clock: saturday })
      await use(app)
      await app.stop()
    },
    { scope: 'worker', timeout: 120_000 },
  ],
  bench: async ({ page, weekendApp }, use) => {
    await admitNewcomer(page, weekendApp)
    await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
    await use(new ShopPage(page, weekendApp.origin))
  },
  typist: async ({ page }, use) => {
    await use(new Typist(page))
  },
})

test('on a Saturday says that the bench is closed, and shows the next bench day’s work', async ({ bench, page }) => {
  await bench.open('?yard=Cinder+Gap')
  await expect(page.getByText('Closed today (Saturday); next bench day Monday, 2026-11-30.')).toBeVisible()
  await expect(page.getByText(/Nothing to do/)).toBeHidden()
  await expect(page.getByText(/^\d+ jobs are overdue, planned for the first free slot$/)).toBeVisible()
  expect(await bench.visits().count()).toBeGreaterThan(5)
  await page.getByText('Next bench day', { exact: true }).click()
  expect(await bench.visits().count()).toBeGreaterThan(5)
  expect(await page.getByRole('row').getByText('2026-11-30').count()).toBeGreaterThan(5)
  expect(await violations(page)).toEqual([])
  await bench.open('?yard=-')
  await expect(page.getByText(/^Nothing to do next week on units without a yard\./)).toContainText(
    /No cell, calibration line or finding asks for work\. Other yards have \d+ visits\.$/,
  )
})

test('a yard with working days, holidays and jobs a day of its own works by them', async ({
  bench,
  page,
  weekendApp,
}) => {
  const { page: window } = bench
  await window.goto(`${weekendApp.origin}/#/fleet`)
  await page.getByRole('button', { name: 'Edit yard Larch Hollow' }).click()
  const form = page.getByRole('dialog', { name: 'Edit yard Larch Hollow' })
  await form.getByRole('textbox', { name: 'Bench works on' }).fill('Mon-Fry')
  await form.getByRole('button', { name: 'Save' }).click()
  await expect(form.getByRole('textbox', { name: 'Bench works on' })).toHaveAccessibleDescription(
    /“Mon-Fry” is not accepted; days of the week such as Mon-Fri/,
  )
  await form.getByRole('textbox', { name: 'Bench works on' }).fill('tue – sat')
  await form.getByRole('textbox', { name: 'Closed on' }).fill('2026-12-01; 12-25')
  await form.getByRole('textbox', { name: 'Jobs a day' }).fill('3')
  await form.getByRole('button', { name: 'Save' }).click()
  const row = page.getByRole('table', { name: 'Yards' }).getByRole('row').filter({ hasText: 'Larch Hollow' })
  await expect(row).toContainText('Tue Wed Thu Fri Sat')
  await expect(row).toContainText('12-25, 2026-12-01')
  await bench.open('?yard=Larch+Hollow&when=today')
  await expect(page.getByText(/^Closed today/)).toBeHidden()
  await expect(page.getByRole('radiogroup', { name: 'When' }).getByText('Today', { exact: true })).toBeVisible()
  const days = page.getByRole('region', { name: 'Bench of Larch Hollow' }).getByRole('listitem')
  await expect(days.first()).toHaveAttribute('title', '2026-11-28: 3 of 3 jobs taken')
  // Monday is no day of its bench, Tuesday its holiday.
  await expect(days.nth(1)).toHaveAttribute('title', /^2026-12-02: /)
  await page.goto(`${weekendApp.origin}/#/log`)
  await expect(page.getByText(/Larch Hollow/).first()).toBeVisible()
})

test('what lies in stock and what a cell costs is typed where it stands, and changes the order', async ({
  bench,
  page,
}) => {
  await bench.open('?part=order')
  const table = page.getByRole('table', { name: 'Cells to order' })
  await expect(table).toBeVisible()
  const stock = page.getByRole('textbox', { name: 'Cells on hand, CR2477 at Salt Bend' })
  const row = table.getByRole('row').filter({ has: stock })
  const ordered = async () => Number(await row.getByRole('strong').textContent())
  const before = await ordered()
  expect(before).toBeGreaterThan(2)
  await stock.fill('2')
  await stock.press('Enter')
  await expect.poll(ordered).toBe(before - 2)
  await stock.fill('-1')
  await stock.press('Enter')
  await expect(stock).toHaveAccessibleDescription('“-1” is not accepted; a whole number from 0 to 1,000,000 cells is.')
  await stock.press('Escape')
  await expect(stock).toHaveValue('2')
  const price = page.getByRole('textbox', { name: 'Price of a CR2477, dollars' })
  await price.fill('4.10')
  await price.press('Tab')
  await expect(row).toContainText(`$${((before - 2) * 4.1).toFixed(2)}`)
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Order list (PDF)' }).click(),
  ])
  expect(download.suggestedFilename()).toMatch(/^cells-to-order-2026-11-28\.pdf$/)
})

test('a figure typed while the one before is still being saved is kept, and saved after it', async ({
  bench,
  page,
}) => {
  await bench.open('?part=order')
  const price = page.getByRole('textbox', { name: 'Price of a CR2477, dollars' })
  let letGo = () => {}
  const held = new Promise<void>((done) => {
    letGo = done
  })
  const sent: string[] = []
  await page.route('**/rpc/bench/setPrice', async (route) => {
    sent.push(route.request().postData() ?? '')
    if (sent.length === 1) await held
    await route.continue()
  })
  await price.fill('5.10')
  await price.press('Enter')
  await expect.poll(() => sent.length).toBe(1)
  await price.fill('-1')
  await price.press('Enter')
  await expect(price).toHaveAccessibleDescription(/^“-1” is not accepted/)
  await price.fill('6.20')
  await price.press('Enter')
  letGo()
  await expect.poll(() => sent.length).toBe(2)
  await expect(price).toHaveValue('6.2')
  await page.reload()
  await expect(price).toHaveValue('6.2')
})

test('twenty cells and more are swapped in one go by keyboard, in under 15 s of a practised typist', async ({
  bench,
  page,
  typist,
}) => {
  await page.goto(`${bench.origin}/`)
  await page.getByRole('heading', { name: 'Today', level: 1 }).waitFor()
  await typist.command('g', 'b')
  await expect(page.getByRole('heading', { name: 'Shop Bench' })).toBeFocused()
  await expect(page.getByRole('checkbox', { name: 'Cells of every visit shown' })).toBeVisible()
  await typist.command('a')
  await expect(page.getByRole('checkbox', { name: 'Cells of every visit shown' })).toBeChecked()
  await typist.command('m')
  const dialog = page.getByRole('dialog', { name: /^Mark \d+ cells swapped$/ })
  await expect(dialog.getByLabel('Swapped on')).toBeFocused()
  const own = await dialog
    .getByRole('combobox', { name: /^Why, P/ })
    .evaluateAll((fields) => fields.map((field) => (field as HTMLSelectElement).value))
  expect(own.length).toBeGreaterThanOrEqual(20)
  // The ones whose sensors are silent are dead without being told, the others as all.
  expect(new Set(own)).toEqual(new Set(['', 'dead']))
  expect(await violations(page)).toEqual([])
  await typist.command('Enter')
  await expect(page.getByText(`${own.length} cells are marked swapped.`)).toBeVisible()
  const { counted, seconds } = typist
  test.info().annotations.push({ type: 'typist', description: counted })
  expect(seconds, counted).toBeLessThan(15)
})
