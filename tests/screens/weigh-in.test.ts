import { expect, test } from './demo-fixtures.ts'
import { UnitPage } from './pages/unit-page.ts'
import { violations } from './violations.ts'
import { localTimeOf } from '#core/words/day.ts'

const loads = [
  [18, 11_000],
  [45, 11_600],
  [68, 12_000],
] as const
/** What the scale shows at a pressure, on lines of this test's own. */
const driveLb = (psi: number) => 4700 + 392 * psi
const spreadLb = (psi: number) => 3100 + 420 * psi

test('three loads by keyboard: lines while typing, all saved in one step, found on the Unit sheet, voided with a reason', async ({
  weighIn,
  page,
  demoApp,
}) => {
  await weighIn.open()
  await weighIn.pick('T-109', 'Cinder Gap Yard')
  await weighIn.field('Ticket number', 1).focus()
  for (const [i, [psi, steerLb]] of loads.entries()) {
    const row = [
      `HAND-${i}`,
      null,
      steerLb,
      driveLb(psi),
      spreadLb(psi),
      steerLb + driveLb(psi) + spreadLb(psi),
      psi,
      psi,
      psi,
      psi,
    ]
    for (const value of row) {
      if (value === null) {
        // The time stands there already; Tab goes through the parts of the field.
        await expect(weighIn.field('Weighed at', i + 1)).not.toHaveValue('')
        await weighIn.field('T-109 steer weight', i + 1).focus()
        continue
      }
      await page.keyboard.type(String(value))
      await page.keyboard.press('Tab')
    }
    await weighIn.field('Weighed at', i + 1).fill(localTimeOf(demoApp.now() - (5 - i) * 3_600_000, 'America/Denver'))
    if (i === 1) await expect(weighIn.group('T-109 drive')).toContainText('Two points: the line cannot check itself.')
    if (i < 2) await weighIn.field('Ticket number', i + 2).focus()
  }
  const drive = weighIn.group('T-109 drive')
  await expect(drive).toContainText('the points agree')
  await expect(drive).toContainText(/As found, ticket less line in use: row 1:/)
  await expect(drive.getByRole('img', { name: /^Line of 3 points/ })).toBeVisible()
  await weighIn.save.focus()
  await page.keyboard.press('Enter')
  await expect(page.getByText('Saved: 3 tickets, 2 calibrations.')).toBeVisible()
  const unit = new UnitPage(page, weighIn.origin)
  await unit.open('T-109', '?group=drive')
  const calibrations = page.getByRole('table', { name: 'Calibrations, newest first' })
  await expect(calibrations.locator('tbody tr').first()).toContainText('in force')
  await calibrations.getByRole('button', { name: /^Void/ }).first().click()
  const dialog = page.getByRole('dialog')
  await dialog.getByRole('button', { name: 'Void the calibration' }).click()
  await expect(dialog.getByText('The reason is empty')).toBeVisible()
  await dialog.getByLabel('Reason').fill('The dolly stood on the scale')
  await dialog.getByRole('button', { name: 'Void the calibration' }).click()
  await expect(calibrations.locator('tbody tr').first()).toContainText('void since')
})

test('says what a row lacks and what does not add up, and keeps what was typed when the window closes', async ({
  weighIn,
  page,
  context,
  demoApp,
}) => {
  await weighIn.open()
  await weighIn.pick('T-110', 'Cinder Gap Yard')
  await weighIn.field('Gross', 1).fill('70000')
  await weighIn.save.click()
  await expect(page.getByText('Row 1 has no ticket number.')).toBeVisible()
  await weighIn.field('Ticket number', 1).fill('HAND-X')
  await weighIn.field('T-110 drive weight', 1).fill('3394O')
  await expect(page.getByText('“3394O” is not a number in lb or kg')).toBeVisible()
  await weighIn.field('T-110 drive weight', 1).fill('90000')
  await expect(page.getByText(/add up to 90,000 lb, 20,000 lb more than its gross/)).toBeVisible()
  const kept = async () => JSON.stringify(await demoApp.client.desk.read({ name: 'weigh-in' }))
  await expect.poll(kept).toContain('90000')
  await page.close()
  const again = await context.newPage()
  await again.goto(`${weighIn.origin}/#/weigh-in`)
  await expect(again.getByLabel('Ticket number, row 1')).toHaveValue('HAND-X')
  await expect(again.getByText('Unsaved draft restored.')).toBeVisible()
  await again.getByRole('button', { name: 'Discard it' }).click()
  await expect(again.getByText('Choose the units that stand on the scale.')).toBeVisible()
})

test('keeps a row of pressures alone as a reading, without a scale', async ({ weighIn, page }) => {
  await weighIn.open()
  await weighIn.tractor.click()
  await weighIn.tractor.fill('T-109')
  await weighIn.tractor.press('Enter')
  await weighIn.field('T-109 drive left pressure', 1).fill('3.8 bar')
  await weighIn.field('T-109 drive right pressure', 1).fill('55')
  for (const circuit of ['front', 'rear']) await weighIn.field(`F-308 spread ${circuit} pressure`, 1).fill('70')
  await expect(page.getByText('Row 1 is a reading alone: no ticket, no weight.')).toBeVisible()
  await expect(weighIn.save).toHaveText('Save the reading')
  await weighIn.field('Gross', 1).fill('60000')
  await expect(page.getByText('Row 1 is a reading alone: no ticket, no weight.')).toBeHidden()
  await weighIn.save.click()
  await expect(page.getByText('Choose the scale that the tickets come from.')).toBeVisible()
  await weighIn.field('Gross', 1).fill('')
  await weighIn.save.click()
  await expect(page.getByText('Saved: 1 reading without a ticket.')).toBeVisible()
})

test('axe finds nothing', async ({ weighIn, page }) => {
  await weighIn.open()
  await weighIn.pick('T-111', 'Cinder Gap Yard')
  for (const [i, [psi]] of loads.entries()) {
    await weighIn.field('Ticket number', i + 1).fill(`A-${i}`)
    await weighIn.field('T-111 drive weight', i + 1).fill(String(driveLb(psi) + (i === 1 ? 3000 : 0)))
    await weighIn.field('Gross', i + 1).fill('20000')
    await page
      .getByLabel(new RegExp(`^T-111 drive .* pressure, row ${i + 1}$`))
      .first()
      .fill(String(psi))
  }
  await weighIn.group('T-111 drive').getByRole('img').waitFor()
  expect(await violations(page)).toEqual([])
})

test('says where one is about to calibrate that the scale itself is called biased', async ({ weighIn, page }) => {
  await weighIn.open()
  await weighIn.pick('T-109', 'Mile 88 Fuel Stop')
  await expect(page.getByRole('note').filter({ hasText: 'Mile 88 Fuel Stop' })).toContainText(
    'calibrate on another scale until it is settled',
  )
  expect(await violations(page)).toEqual([])
  await weighIn.scale.selectOption('Cinder Gap Yard')
  await expect(page.getByRole('note').filter({ hasText: 'calibrate on another scale' })).toHaveCount(0)
})
