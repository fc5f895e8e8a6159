import { admitNewcomer, expect, test } from './demo-fixtures.ts'
import { violations } from './violations.ts'

test.use({ viewport: { width: 1280, height: 800 } })

test.beforeEach(({ page, demoApp }) => admitNewcomer(page, demoApp))

test('the owner’s Monday: who ran heavy, held against other months and the fleet, and the way to the ticket', async ({
  page,
  demoApp,
}) => {
  await page.goto(`${demoApp.origin}/#/heavy`)
  await page.getByRole('navigation', { name: 'Screens' }).getByRole('link', { name: 'Monday’s page' }).click()
  await expect(page.getByRole('heading', { name: 'Who ran heavy', level: 1 })).toBeVisible()
  // The last whole month before a Wednesday in November.
  await expect(page.getByRole('combobox', { name: 'Month' })).toHaveValue('2026-10')
  const units = page.getByRole('table', { name: 'By unit' })
  await expect(units.getByRole('columnheader', { name: 'Month before, 2026-09' })).toBeVisible()
  await expect(units.getByRole('columnheader', { name: 'Year before, 2025-10' })).toBeVisible()
  const worse = units.getByRole('row').filter({ hasText: 'worse than the fleet' })
  await expect(worse.first()).toContainText(/onboard of .* by its line of|by tickets of/)
  await expect(page.getByText('No ticket and no reading of this month names a loading lane.')).toBeVisible()
  await expect(page.getByRole('heading', { name: 'Loads that are judged otherwise by now' })).toBeVisible()
  expect(await violations(page)).toEqual([])

  const waiting = page.waitForEvent('download')
  await page.getByRole('button', { name: 'Save as PDF' }).click()
  expect((await waiting).suggestedFilename()).toBe('heavy-2026-10.pdf')

  // The worst unit's loads of the month, and from a row to what it rests on.
  const unit = (await worse.first().getByRole('link').textContent()) ?? ''
  await worse.first().getByRole('link').click()
  const log = page.getByRole('grid', { name: 'Heavy weights' })
  await expect(log.locator('tbody tr').first()).toContainText(unit)
  const side = page.getByRole('complementary', { name: 'The chosen weight' })
  await log.locator('tbody tr').filter({ hasText: 'onboard' }).first().locator('td').first().click()
  await side.getByRole('link', { name: /^reading / }).click()
  await expect(page.getByRole('heading', { level: 1 })).toContainText('Reading')
  await page.goBack()
  await log.locator('tbody tr').filter({ hasText: 'ticket' }).first().locator('td').first().click()
  await side.getByRole('link', { name: /^Ticket / }).click()
  await expect(page.getByRole('heading', { level: 1 })).toContainText('Ticket')
})

test('another month is another address, and the last 30 days are thirty', async ({ page, demoApp }) => {
  await page.goto(`${demoApp.origin}/#/monday?month=2026-09`)
  await expect(page.getByRole('columnheader', { name: 'Month before, 2026-08' }).first()).toBeVisible()
  await page.getByRole('combobox', { name: 'Month' }).selectOption('2026-10')
  await expect(page).toHaveURL(/#\/monday$/)
  await page.goto(`${demoApp.origin}/#/heavy`)
  await page.getByRole('combobox', { name: 'Period' }).selectOption('Last 30 days')
  // From this day on, today's among them: the app's clock says 2026-11-25.
  await expect(page.getByRole('textbox', { name: 'First day' }).or(page.getByLabel('First day'))).toHaveValue(
    '2026-10-27',
  )
})

test('names of drivers and loading lanes stand there, those of drivers unless the House Rules keep them off', async ({
  page,
  demoApp,
}) => {
  const { client } = demoApp
  const { rows } = await client.heavy.list({ sources: ['ticket'], from: '2026-10-01', to: '2026-10-31' })
  const id = rows[0]?.ticketId ?? 0
  const was = { driver: null, lane: null }
  await client.evidence.correct({
    kind: 'ticket',
    id,
    was,
    now: { driver: 'R. Stone', lane: 'Quarry 2' },
    reason: 'Named on the paper',
    by: 'M. Adair',
    tryOut: false,
  })
  await page.goto(`${demoApp.origin}/#/monday`)
  await expect(page.getByRole('table', { name: 'By driver' })).toContainText('R. Stone')
  await expect(page.getByRole('table', { name: 'By loading lane' })).toContainText('Quarry 2')
  await client.houseRules.change({ name: 'drivers', value: 1, was: 0, by: 'M. Adair' })
  await page.reload()
  await expect(page.getByText('The House Rules keep drivers’ names off screens and papers.')).toBeVisible()
  await page.goto(`${demoApp.origin}/#/ticket/${id}`)
  await expect(page.getByRole('heading', { level: 1 })).toContainText('Ticket')
  await expect(page.getByText('R. Stone')).toHaveCount(0)
  await client.houseRules.change({ name: 'drivers', value: 0, was: 1, by: 'M. Adair' })
})
