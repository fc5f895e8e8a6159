import { expect, test } from './demo-fixtures.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighPage } from './pages/weigh-page.ts'
import { violations } from './violations.ts'

test('by keyboard alone: to the screen, a tractor, its pressures, weights at once, saved, on the Unit sheet', async ({
  weigh,
  page,
}) => {
  await page.goto(`${weigh.origin}/#/roster`)
  await page.getByRole('grid', { name: 'Units' }).waitFor()
  await page.keyboard.press('g')
  await page.keyboard.press('w')
  await expect(page.getByRole('heading', { name: 'Weigh now' })).toBeFocused()
  // Nothing can be picked before the units have been read.
  await page.getByText('Tractor or truck').waitFor()
  await page.keyboard.press('Tab')
  await page.keyboard.type('T-109')
  await page.getByRole('option', { name: /^T-109/ }).waitFor()
  await page.keyboard.press('Enter')
  // The trailer that it was last weighed with comes along.
  await expect(weigh.pressure('F-308 spread front')).toBeVisible()
  await expect(weigh.weight('Gross')).toContainText('no group has a weight yet')
  while (!(await weigh.pressure('T-109 drive left').evaluate((field) => field === document.activeElement)))
    await page.keyboard.press('Tab')
  for (const psi of ['55', '3.8 bar', '380 kPa', '55,2']) {
    await page.keyboard.type(psi)
    await page.keyboard.press('Tab')
  }
  for (const group of ['T-109 steer', 'T-109 drive', 'F-308 spread', 'Gross'])
    await expect(weigh.weight(group)).toContainText(/under|over|too close to call/)
  await expect(weigh.weight('T-109 steer')).toContainText('estimated from the drive group')
  await expect(weigh.weight('T-109 drive')).toContainText(/±\s\d+/)
  // Five axles have ten sets of two and more.
  await expect(weigh.sets()).toHaveCount(10)
  await page.getByRole('textbox', { name: 'Note' }).focus()
  await page.keyboard.type('Before the hill')
  await page.keyboard.press('Tab')
  await expect(page.getByRole('button', { name: 'Save as a reading' })).toBeFocused()
  await page.keyboard.press('Enter')
  await page.getByRole('dialog').waitFor()
  await page.keyboard.type('Ada')
  await page.keyboard.press('Enter')
  const saved = page.getByText(/^Saved as reading W-\d{8}-\d+/)
  await expect(saved).toBeVisible()
  await expect(weigh.pressure('T-109 drive left')).toHaveValue('')
  await expect(page.getByText('Type at least one pressure')).toBeHidden()
  const name = /W-\d{8}-\d+/.exec((await saved.textContent()) ?? '')?.[0] as string
  const unit = new UnitPage(page, weigh.origin)
  await unit.open('T-109')
  await expect(page.getByRole('region', { name: 'Newest readings' })).toContainText(name)
  // 380 kPa are 55.1 psi.
  await unit.open('F-308')
  await expect(page.getByRole('region', { name: 'Newest readings' })).toContainText('55.1')
})

test('says at the field what is not accepted, saves nothing then, and keeps what was typed when the window closes', async ({
  weigh,
  page,
  context,
}) => {
  await weigh.open('T-109')
  await weigh.pressure('T-109 drive left').fill('5o')
  await expect(page.getByRole('alert')).toContainText('“5o” is not a number in psi, kPa or bar')
  await weigh.pressure('T-109 drive left').fill('9000')
  await expect(page.getByRole('alert')).toContainText('to 2,000 psi is accepted.')
  await page.getByRole('button', { name: 'Save as a reading' }).click()
  await expect(page.getByText('nothing is saved until it is.')).toBeVisible()
  await page.close()
  const again = new WeighPage(await context.newPage(), weigh.origin)
  await again.open()
  await expect(again.pressure('T-109 drive left')).toHaveValue('9000')
  await expect(again.pressure('F-308 spread rear')).toHaveValue('')
})

test('says how a lift axle is weighed in practice, and that a line is provisional since the work on it', async ({
  weigh,
  page,
}) => {
  await weigh.open('T-104')
  await weigh.pressure('T-104 drive main').fill('50')
  // Its valve was replaced; it has been weighed since.
  await expect(weigh.weight('T-104 drive')).toContainText('provisional: by the weighings since the work on it')
  await page.getByRole('button', { name: 'Clear' }).click()
  await weigh.open('K-01')
  await weigh.pressure('K-01').first().fill('50')
  await page.getByRole('combobox', { name: 'Lift axles' }).selectOption('lowered')
  await expect(weigh.weight('K-01 drive')).toContainText('Read the pressures with it raised, then lower it.')
})

test('asks at once about a pressure that no circuit holds', async ({ weigh, page }) => {
  await weigh.open('T-109')
  await weigh.pressure('T-109 drive left').fill('484')
  await expect(page.getByText(/Is it kPa\? That would be 70\.2/)).toBeVisible()
  expect(await violations(page)).toEqual([])
  await weigh.pressure('T-109 drive left').fill('70.2')
  await expect(page.getByText(/Is it kPa/)).toBeHidden()
})

test('tells what the line reads and what all evidence says, where they are two weights', async ({ weigh }) => {
  await weigh.open('T-111')
  await weigh.pressure('T-111 drive main').fill('73.9')
  await expect(weigh.weight('T-111 drive')).toContainText(
    /by the line 35,\d\d0\slb; all evidence says 34,\d\d0 ±\s\d+\slb/,
  )
  await expect(weigh.weight('T-111 drive')).toContainText(/over by [\d,]+\slb\s*by [\d,]+\slb, margin included/)
})

test('axe finds nothing', async ({ weigh, page }) => {
  await weigh.open('T-109')
  for (const [circuit, psi] of [
    ['T-109 drive left', '90'],
    ['T-109 drive right', '90'],
    ['F-308 spread front', 'x'],
    ['F-308 spread rear', '40'],
  ] as const)
    await weigh.pressure(circuit).fill(psi)
  await weigh.weight('T-109 drive').getByText('over', { exact: true }).waitFor()
  expect(await violations(page)).toEqual([])
})

test('a link shows no fields of the units that were weighed before, and what is chosen after it stays', async ({
  weigh,
  page,
  demoApp,
}) => {
  await weigh.open('T-109')
  // The units come late: what would be typed meanwhile is another unit's.
  const late = Promise.withResolvers<void>()
  await page.route('**/rpc/weigh/combinations', async (route) => {
    await late.promise
    await route.continue()
  })
  await page.goto(`${weigh.origin}/#/roster`)
  await page.reload()
  await page.goto(`${weigh.origin}/#/weigh/T-111`)
  await expect(page.getByText('Reading the units…')).toBeVisible()
  await expect(page.getByRole('group', { name: /^Pressures/ })).toHaveCount(0)
  late.resolve()
  await expect(weigh.pressure('T-111 drive main')).toHaveValue('')
  await page.unroute('**/rpc/weigh/combinations')

  // Another unit is taken in its place, and another window weighs one of them.
  await page.getByRole('button', { name: 'Clear' }).click()
  const tractor = page.getByRole('combobox', { name: 'Tractor or truck' })
  await tractor.fill('T-112')
  await page.getByRole('option', { name: /^T-112/ }).click()
  await weigh.pressure('T-112').first().fill('61')
  const asked = page.waitForResponse('**/rpc/weigh/combinations')
  await demoApp.client.weigh.save({
    units: ['T-112'],
    takenAt: new Date(demoApp.now() - 60_000).toISOString(),
    localZone: null,
    elevationFt: null,
    temperatureF: null,
    lift: null,
    note: null,
    pressures: [
      { unit: 'T-112', group: 'drive', circuit: 'left', psi: 50 },
      { unit: 'T-112', group: 'drive', circuit: 'right', psi: 50 },
    ],
    by: 'Ada',
  })
  await asked
  await expect(tractor).toHaveValue(/^T-112/)
  await expect(weigh.pressure('T-112').first()).toHaveValue('61')
})

test('a link to another unit leaves what is typed until it is saved or discarded', async ({ weigh, page }) => {
  await weigh.open('T-109')
  await weigh.pressure('T-109 drive left').fill('55')
  await page.goto(`${weigh.origin}/#/weigh/T-111`)
  const notice = page.getByRole('status').filter({ hasText: /^Typed for T-109 \+ F-308 and not saved yet/ })
  await expect(notice).toBeVisible()
  await page.reload()
  await expect(notice).toBeVisible()
  await expect(weigh.pressure('T-109 drive left')).toHaveValue('55')

  await weigh.pressure('T-109 drive right').fill('56')
  await page.getByRole('button', { name: 'Save as a reading' }).click()
  await page.getByRole('dialog').waitFor()
  await page.keyboard.type('Ada')
  await page.keyboard.press('Enter')
  await expect(weigh.pressure('T-111 drive main')).toHaveValue('')
  await expect(notice).toBeHidden()

  await weigh.pressure('T-111 drive main').fill('62')
  await page.goto(`${weigh.origin}/#/weigh/T-112`)
  await page.getByRole('button', { name: 'Discard it and weigh T-112' }).click()
  await expect(weigh.pressure('T-112').first()).toHaveValue('')
})
