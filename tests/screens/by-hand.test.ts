import { trueLine } from './fleet-folder.ts'
import { expect, test as base } from './fixtures.ts'
import { FleetPage } from './pages/fleet-page.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { personDialog } from './pages/person-dialog.ts'
import { UnitPage } from './pages/unit-page.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { Typist } from './typist.ts'

const test = base.extend<{ typist: Typist }>({
  typist: async ({ page }, use) => {
    await use(new Typist(page))
  },
})

const loads = [
  { steerLb: 11_000, drivePsi: 18, tandemPsi: 12 },
  { steerLb: 11_600, drivePsi: 45, tandemPsi: 38 },
  { steerLb: 12_000, drivePsi: 68, tandemPsi: 64 },
]
/** What the scale shows at a pressure, on lines of this test's own. */
const driveLb = (psi: number) => 4700 + 392 * psi
const tandemLb = (psi: number) => 4000 + 440 * psi

/** Tells the count and holds it: no more keys, no more clicks, no more time by the model. */
function hold(
  typist: Typist,
  most: { readonly keys: number; readonly clicks: number; readonly seconds: number },
): void {
  const { keys, clicks, seconds, counted } = typist
  test.info().annotations.push({ type: 'typist', description: counted })
  console.log(`${test.info().title}: ${counted}`)
  expect(keys, counted).toBeLessThanOrEqual(most.keys)
  expect(clicks, counted).toBeLessThanOrEqual(most.clicks)
  expect(seconds, counted).toBeLessThan(most.seconds)
}

test('from an empty file to the first weight, step by step', async ({ emptyApp, page, typist }) => {
  test.setTimeout(90_000)
  await page.goto(`${emptyApp.origin}/#/roster`)
  await expect(page.getByRole('heading', { name: 'First weight' })).toBeVisible()
  const step = (title: string) => page.getByRole('dialog', { name: title })

  await typist.click(page.getByRole('link', { name: 'Start' }))
  const yard = step('Step 1 of 6: add a yard')
  await expect(yard.getByRole('textbox', { name: 'Name' })).toBeFocused()
  await typist.type('Mill Yard')
  await typist.press('Enter')
  await expect(personDialog(page).getByRole('combobox', { name: 'Your name' })).toBeFocused()
  await typist.type('M. Tarn')
  await typist.press('Enter')

  const scale = step('Step 2 of 6: add the scale')
  await expect(scale.getByRole('textbox', { name: 'Name' })).toBeFocused()
  await typist.type('Brine Flat')
  await typist.press('Tab')
  await typist.type('20')
  await typist.press('Enter')

  const tractor = step('Step 3 of 6: add a tractor or truck')
  await expect(tractor.getByRole('textbox', { name: 'Number' })).toBeFocused()
  await typist.type('T-1')
  await typist.tabTo(tractor.getByRole('textbox', { name: 'Sensor on drive' }))
  await typist.type('PA-1')
  await typist.press('Tab')
  await typist.type('CR2450')
  await typist.press('Tab')
  await typist.type('300')
  await typist.press('Enter')

  const trailer = step('Step 4 of 6: add a trailer')
  await expect(trailer.getByRole('textbox', { name: 'Number' })).toBeFocused()
  await typist.type('V-1')
  await typist.tabTo(trailer.getByRole('textbox', { name: 'Sensor on tandem' }))
  await typist.type('PA-2')
  await typist.press('Enter')

  // The only units and the only scale stand there already.
  const weighIn = new WeighInPage(page, emptyApp.origin)
  await expect(weighIn.scale).toHaveValue('Brine Flat')
  await typist.click(weighIn.field('Ticket number', 1))
  for (const [i, { steerLb, drivePsi, tandemPsi }] of loads.entries()) {
    await expect(weighIn.field('Ticket number', i + 1)).toBeFocused()
    await typist.type(`800${i + 1}`)
    await typist.press('Tab')
    await expect(weighIn.field('Weighed at', i + 1)).toBeFocused()
    // In the hour that comes twice, past which of the two it is.
    await typist.tabTo(weighIn.field('T-1 steer weight', i + 1))
    const figures = [
      steerLb,
      driveLb(drivePsi),
      tandemLb(tandemPsi),
      steerLb + driveLb(drivePsi) + tandemLb(tandemPsi),
      drivePsi,
      tandemPsi,
    ]
    for (const [place, figure] of figures.entries()) {
      await typist.type(String(figure))
      if (i < loads.length - 1 || place < figures.length - 1) await typist.press('Tab')
    }
  }
  await expect(weighIn.field('T-1 steer weight', 3)).toHaveValue('12000')
  const passed = await page.getByRole('combobox', { name: /: which of the two$/ }).count()
  const drive = weighIn.group('T-1 drive')
  await expect(drive).toContainText('the points agree')
  await expect(drive.getByRole('img', { name: /^Line of 3 points/ })).toBeVisible()
  await typist.press('Enter')
  await expect(page.getByText('Saved: 3 tickets, 2 calibrations.')).toBeVisible()

  const [card] = await Promise.all([
    page.waitForEvent('download'),
    typist.click(page.getByRole('button', { name: 'Cab cards' })),
  ])
  expect(card.suggestedFilename()).toMatch(/^cab-cards-.*\.pdf$/)
  // A pressure is a weight from here on.
  const { rows } = await emptyApp.client.roster.list()
  expect(rows.map(({ unit, trust }) => [unit, trust])).toEqual([
    ['T-1', 'sound'],
    ['V-1', 'sound'],
  ])
  hold(typist, { keys: 176 + passed, clicks: 3, seconds: 100 })

  // A calibration made of the wrong trailer is voided; all of it stands in the log.
  await page.getByRole('link', { name: 'T-1', exact: true }).click()
  const unit = new UnitPage(page, emptyApp.origin)
  await expect(unit.page.getByRole('heading', { name: 'T-1', level: 1 })).toBeVisible()
  const calibrations = page.getByRole('table', { name: 'Calibrations, newest first' })
  await expect(calibrations.locator('tbody tr').first()).toContainText('in force')
  const readings = page.getByRole('table', { name: /^Newest readings/ })
  await expect(readings.getByRole('columnheader', { name: 'drive, lb' })).toBeVisible()
  await calibrations.getByRole('button', { name: /^Void/ }).click()
  const dialog = page.getByRole('dialog')
  await dialog.getByLabel('Reason').fill('Wrong trailer')
  await dialog.getByRole('button', { name: 'Void the calibration' }).click()
  await expect(calibrations.locator('tbody tr').first()).toContainText('void since')

  const fleet = new FleetPage(page, emptyApp.origin)
  await fleet.openLog()
  await expect(fleet.changes.first()).toContainText(/M\. Tarn.*T-1.*T-1 drive.*voided.*Wrong trailer/s)
  for (const part of ['Mount PA-1 on T-1 drive main', 'Mount PA-2 on V-1 tandem main'])
    await expect(fleet.changes.filter({ hasText: part }).first()).toContainText(/M\. Tarn.*added/s)
  for (const number of ['8001', '8002', '8003'])
    await expect(fleet.changes.filter({ hasText: `Ticket ${number} of Brine Flat` }).first()).toContainText(
      /M\. Tarn.*added.*T-1 steer: [\d,]+\slb.*T-1 drive: [\d,]+\slb.*V-1 tandem: [\d,]+\slb/s,
    )
  await expect(fleet.changes.filter({ hasText: 'Reading' }).first()).toContainText(
    /T-1 drive main: [\d.]+\spsi.*V-1 tandem main: [\d.]+\spsi/s,
  )
  for (const [what, name] of [
    ['Yard', 'Mill Yard'],
    ['Unit', 'T-1'],
    ['Unit', 'V-1'],
    ['Scale', 'Brine Flat'],
    ['Calibration', 'V-1 tandem'],
  ] as const) {
    await expect(fleet.changes.filter({ hasText: new RegExp(`${what} ${name}`) }).first()).toContainText('added')
  }
  // Times stand there as people write them.
  await expect(page.getByRole('table', { name: 'Changes, newest first' })).not.toContainText(/\dT\d\d:\d\d/)
})

test('a mistyped ticket is corrected from the keyboard’s nearest way', async ({ smallApp: app, page, typist }) => {
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
  const sheet = new EvidenceSheet(page, app.origin)
  const unit = new UnitPage(page, app.origin)
  await unit.open('V-201', '?group=tandem')

  await typist.press('Control+k')
  await expect(page.getByRole('dialog', { name: 'Go to' }).getByRole('combobox')).toBeFocused()
  await typist.type('6-13')
  await expect(page.getByRole('option', { name: /^Ticket 6-13/ })).toBeVisible()
  await typist.press('Enter')
  await expect(page.getByRole('heading', { name: 'Ticket 6-13 of', level: 1 })).toBeVisible()
  await typist.click(page.getByRole('button', { name: 'correct V-201 tandem' }).first())
  await expect(sheet.field('V-201 tandem, lb')).toBeFocused()
  await typist.type(String(trueLine.a + trueLine.b * 52))
  await typist.click(sheet.form.getByRole('button', { name: 'Typed wrong as the reason' }))
  await expect(sheet.form.getByRole('button', { name: 'Correct', exact: true })).toBeFocused()
  await typist.press('Enter')
  await expect(page.getByRole('heading', { name: 'Corrected ticket 6-13', exact: false })).toBeVisible()
  hold(typist, { keys: 12, clicks: 2, seconds: 12 })
  expect((await app.client.log.list({ subject: 'ticket' })).rows[0]).toMatchObject({
    action: 'corrected',
    reason: 'Typed wrong',
  })
})

test('a slip that a finding names is taken with one click, its reason filled in', async ({
  smallApp: app,
  page,
  typist,
}) => {
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
  const weighed = (weightLb: number, psi: number, at: number) =>
    app.client.weighIn.save({
      units: ['T-101'],
      scale: 'Millrace Yard',
      localZone: null,
      calibrate: [],
      by: 'M. Adair',
      tickets: [
        {
          ticket: `S-${psi}`,
          weighedAt: new Date(at).toISOString(),
          grossLb: null,
          weights: [{ unit: 'T-101', group: 'drive', weightLb }],
          reading: {
            elevationFt: null,
            temperatureF: null,
            lift: 'none',
            pressures: [{ unit: 'T-101', group: 'drive', circuit: 'main', psi }],
          },
        },
      ],
    })
  const day = 86_400_000
  for (const [i, psi] of [30, 42, 56].entries())
    await weighed(trueLine.a + trueLine.b * psi, psi, app.now() - (20 - i) * day)
  const rightLb = trueLine.a + trueLine.b * 62
  await weighed(swapDigits(rightLb), 62, app.now() - day)
  const unit = new UnitPage(page, app.origin)
  await unit.open('T-101', '?group=drive')
  const finding = unit.findings.getByRole('listitem').filter({ hasText: 'Digits transposed' })
  await expect(finding.getByRole('link', { name: 'S-62' })).toHaveAttribute('href', /#\/ticket\/\d+$/)
  await typist.click(finding.getByRole('link', { name: /^Take [\d,]+\slb$/ }))
  const sheet = new EvidenceSheet(page, app.origin)
  await expect(sheet.field('T-101 drive, lb')).toHaveValue(String(rightLb))
  await expect(sheet.field('Why, for the change log')).toHaveValue(/^Digits transposed: typed as [\d,]+\slb$/)
  await expect(sheet.form.getByRole('button', { name: 'Correct', exact: true })).toBeFocused()
  await typist.press('Enter')
  await expect(page.getByRole('heading', { name: 'Corrected ticket S-62', exact: false })).toBeVisible()
  hold(typist, { keys: 1, clicks: 1, seconds: 3 })
  const codes = (await app.client.unit.sheet({ unit: 'T-101' })).findings.map(({ code }) => code)
  expect(codes).not.toContain('digits-transposed')
})

/** A weight with its thousands and hundreds the other way round. */
function swapDigits(weightLb: number): number {
  const [tens, thousands, hundreds, ...rest] = String(weightLb)
  return Number([tens, hundreds, thousands, ...rest].join(''))
}
