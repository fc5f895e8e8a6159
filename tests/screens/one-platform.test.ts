import { join } from 'node:path'
import { timeNow } from '#core/store/clock.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import { folderRows, folderText } from '#tests/fleet/folder.ts'
import { addTagTruck, tagTruckLb } from '#tests/fleet/tag-truck.ts'
import { expect, test } from './fixtures.ts'
import { EvidenceSheet } from './pages/evidence-sheet.ts'
import { WeighInPage } from './pages/weigh-in-page.ts'
import { violations } from './violations.ts'

const cleanLb = tagTruckLb.drive(60) + tagTruckLb.tag(54)

function tagFleet(): Record<string, string> {
  const rows = folderRows()
  rows.scales.push({ scale: 'Pit', division_lb: 20, elevation_ft: 600, tolerance_percent: 0.2 })
  addTagTruck(rows, 'D-4', 'Pit', (load) => new Date(timeNow() - (40 - load) * 86_400_000).toISOString())
  return folderText(rows)
}

test('two groups on one platform: one weight typed for both, tested by both lines, seen on the sheets, corrected', async ({
  emptyApp: app,
  page,
}) => {
  const folder = join(app.folder, 'tag')
  writeFiles(folder, tagFleet())
  await app.bringIn(folder)
  await page.addInitScript(() => localStorage.setItem('tareline-person', JSON.stringify('M. Adair')))
  const weighIn = new WeighInPage(page, app.origin)
  await weighIn.open()
  await weighIn.pick('D-4', 'Pit')
  const pair = page.getByRole('checkbox', { name: 'D-4 drive + tag' })
  await pair.check()
  // Steer cannot stand with the drive too: a group stands with one other at most.
  await expect(page.getByRole('checkbox', { name: 'D-4 steer + drive' })).toBeDisabled()
  await expect(weighIn.field('D-4 drive weight', 1)).toHaveCount(0)
  for (const [row, offLb] of [
    [1, 2600],
    [2, 2500],
  ] as const) {
    await weighIn.field('Ticket number', row).fill(`B-${row}`)
    await weighIn.field('D-4 steer weight', row).fill('11000')
    await weighIn.field('D-4 drive + tag weight', row).fill(String(cleanLb + offLb))
    await weighIn.field('Gross', row).fill(String(11_000 + cleanLb + offLb))
    await weighIn.field('D-4 drive main pressure', row).fill('60')
    await weighIn.field('D-4 tag main pressure', row).fill('54')
  }
  for (const group of ['D-4 drive', 'D-4 tag']) {
    await expect(weighIn.group(group)).toContainText(/On one platform, ticket less what both lines add up to: row 1:/)
    await expect(weighIn.group(group)).toContainText('one of the two lines has moved, or both')
    await expect(weighIn.group(group)).toContainText('until then they check the one in use')
  }
  expect(await violations(page)).toEqual([])
  await weighIn.save.click()
  await expect(page.getByText('Saved: 2 tickets.')).toBeVisible()

  await page.goto(`${app.origin}/#/unit/D-4?group=drive`)
  const sums = page.getByRole('table', { name: 'Weights with another group, drive' })
  await expect(sums.locator('tbody tr')).toHaveCount(2)
  await expect(sums).toContainText('tag')
  await expect(sums).toContainText('open')
  await expect(page.getByText('Weigh this group and tag apart', { exact: false }).first()).toBeVisible()
  expect(await violations(page)).toEqual([])

  const sheet = new EvidenceSheet(page, app.origin)
  await sheet.openTicket('D-4', 'B-2')
  const weights = page.getByRole('table', { name: 'Weights of the groups' })
  await expect(weights.getByRole('row', { name: /D-4 drive \+ tag, on one platform/ })).toBeVisible()
  await expect(weights.getByRole('row', { name: /Sum of the groups/ })).toBeVisible()
  await sheet.correct('ticket B-2')
  await sheet.field('D-4 drive + tag, on one platform, lb').fill(String(cleanLb))
  await sheet.field('Gross, lb').fill(String(11_000 + cleanLb))
  await sheet.field('Why, for the change log').fill('The ticket says so')
  expect(await violations(page)).toEqual([])
  await sheet.form.getByRole('button', { name: 'Correct' }).click()
  await expect(page.getByRole('heading', { name: 'Corrected ticket B-2', exact: false })).toBeVisible()
})
