import { trueLine } from './fleet-folder.ts'
import { admit, expect, test as base } from './fixtures.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { UnitPage } from './pages/unit-page.ts'
import { violations } from './violations.ts'

const test = base.extend<{ sheet: EvidenceSheet }>({
  sheet: async ({ page, app }, use) => {
    await admit(page, app)
    await use(new EvidenceSheet(page, app.origin))
  },
})

/** V-201's third calibration weight is 3,000 lb too high. */
const [unitNumber, number, rightLb] = ['V-201', '6-13', trueLine.a + trueLine.b * 52]

test('a mistyped weight is corrected: line, trust, findings and log follow', async ({ smallApp: app, page }) => {
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
  const sheet = new EvidenceSheet(page, app.origin)
  const codes = async () => (await app.client.unit.sheet({ unit: unitNumber })).findings.map((finding) => finding.code)
  expect(await codes()).toContain('points-disagree')

  await sheet.openTicket(unitNumber, number)
  await sheet.correct(`ticket ${number}`)
  const weight = sheet.field('V-201 tandem, lb')
  await weight.fill('a lot')
  await page.keyboard.press('Enter')
  await expect(sheet.form.getByText('“a lot” is not a number', { exact: false })).toBeVisible()
  await expect(weight).toBeFocused()
  await weight.fill(String(rightLb))
  await expect(sheet.form.getByRole('table', { name: /would be refitted/ })).toContainText('agree')
  await page.keyboard.press('Enter')
  await expect(sheet.form.getByText('The reason is empty', { exact: false })).toBeVisible()
  expect(await violations(page)).toEqual([])

  // What is typed outlives the window.
  await page.reload()
  await sheet.correct(`ticket ${number}`)
  await expect(weight).toHaveValue(String(rightLb))
  await sheet.field('Why, for the change log').fill('The ticket says so, a digit was misread')
  await sheet.form.getByRole('button', { name: 'Correct', exact: true }).click()
  await expect(page.getByRole('heading', { name: `Corrected ticket ${number}`, exact: false })).toBeVisible()
  await expect(page.getByRole('table', { name: /were refitted/ })).toContainText('V-201 tandem')
  expect(await violations(page)).toEqual([])

  const line = (await app.client.evidence.calibrations({ unit: unitNumber })).rows[0]?.line
  expect([Math.round(line?.a ?? 0), Math.round(line?.b ?? 0)]).toEqual([trueLine.a, trueLine.b])
  expect(await codes()).not.toContain('points-disagree')
  const unit = new UnitPage(page, app.origin)
  await unit.open(unitNumber)
  await expect(unit.findings.getByText('disagree', { exact: false })).toHaveCount(0)
  await page.goto(`${app.origin}/#/log?unit=${unitNumber}`)
  const entry = page.getByRole('row').filter({ hasText: 'corrected' }).first()
  await expect(entry).toContainText('M. Adair')
  await expect(entry).toContainText('a digit was misread')
  await expect(entry).toContainText('27,400')
})

test('the lists, and what is not there, are without a fault that axe sees', async ({ sheet, page }) => {
  for (const part of ['Tickets', 'Readings', 'Calibrations'] as const) {
    await sheet.list(part)
    expect(await violations(page)).toEqual([])
  }
  await page.goto(`${sheet.origin}/#/scale-house/tickets?text=nothing-like-this`)
  await page.getByText('Nothing matches.').waitFor()
  expect(await violations(page)).toEqual([])
  await page.goto(`${sheet.origin}/#/ticket/999999`)
  await page.getByRole('alert').waitFor()
  expect(await violations(page)).toEqual([])
})
