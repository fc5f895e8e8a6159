import { expect, test } from './fixtures.ts'
import { violations } from './violations.ts'

test('a voided calibration is made anew of its tickets, the line shown while they are chosen; both are undone', async ({
  page,
  smallApp,
}) => {
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Tarn')))
  await page.goto(`${smallApp.origin}/#/unit/T-101?group=drive`)
  const calibrations = page.getByRole('table', { name: 'Calibrations, newest first' })
  await calibrations.getByRole('button', { name: /^Void/ }).first().click()
  await page.getByRole('dialog').getByLabel('Reason').fill('The dolly stood on the scale')
  await page.getByRole('dialog').getByRole('button', { name: 'Void the calibration' }).click()
  await expect(calibrations.locator('tbody tr').first()).toContainText('void since')

  await page.getByRole('link', { name: 'Calibrate from tickets on record' }).click()
  await expect(page.getByRole('heading', { name: 'Calibrate from the record', level: 1 })).toBeFocused()
  const group = page.getByRole('region', { name: 'T-101 drive', exact: true })
  const tickets = page.getByRole('table', { name: /^Tickets on record of T-101 drive/ })
  const boxes = tickets.getByRole('checkbox')
  await expect(boxes.first()).toBeVisible()
  await page.getByRole('button', { name: 'Calibrate T-101 drive' }).click()
  await expect(group).toContainText('T-101 drive: no ticket is chosen: a line needs two loads or more.')
  await boxes.nth(0).check()
  await expect(group).toContainText('one ticket is chosen')
  await boxes.nth(1).check()
  await expect(group).toContainText('Two points: the line cannot check itself.')
  await page.getByRole('button', { name: 'Take all' }).click()
  await expect(group.getByRole('img', { name: /^Line of \d points/ })).toBeVisible()
  await expect(group).toContainText('χ²')
  expect(await violations(page)).toEqual([])
  // What is chosen stands in the address.
  await page.reload()
  await expect(boxes.last()).toBeChecked()
  await page.getByRole('button', { name: 'Calibrate T-101 drive' }).click()
  await expect(calibrations.locator('tbody tr').filter({ hasText: 'in force' })).toHaveCount(1)

  const undo = async () => {
    const last = await smallApp.client.log.last()
    await smallApp.client.log.undo({ revision: last?.revision ?? 0, by: 'M. Tarn' })
  }
  await undo()
  await undo()
  await page.reload()
  await expect(calibrations.locator('tbody tr').filter({ hasText: 'in force' })).toHaveCount(1)
  await page.goto(`${smallApp.origin}/#/scale-house/calibrations`)
  await page.getByRole('link', { name: 'Calibrate from the record' }).click()
  await expect(page.getByText('Choose the unit.')).toBeVisible()
  await page.getByRole('combobox', { name: 'Unit' }).click()
  await page.getByRole('option', { name: 'T-101' }).click()
  await expect(tickets).toBeVisible()
})
