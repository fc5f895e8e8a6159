import { join } from 'node:path'
import { admit, expect, test } from './fixtures.ts'
import { writeFleetFolder } from './fleet-folder.ts'
import { violations } from './violations.ts'

test('the Roster leads to the weighings that teach most, without taking height from its list', async ({ roster }) => {
  const { page } = roster
  await roster.open()
  const way = page.getByRole('link', { name: 'Weigh this week: V-201, T-103, T-102 and 3 more' })
  await expect(way).toBeVisible()
  const [title, link] = [await roster.title.boundingBox(), await way.boundingBox()]
  expect(link?.y).toBeLessThan((title?.y ?? 0) + (title?.height ?? 0))
  await way.click()
  await expect(page.getByRole('radio', { name: 'Weigh this week' })).toBeChecked()
  const table = page.getByRole('table', { name: 'Weigh this week' })
  await expect(table.locator('tbody tr')).toHaveCount(6)
  const first = table.locator('tbody tr').first()
  await expect(first).toContainText('V-201')
  await expect(first).toContainText('Millrace Yard')
  await expect(first).toContainText('± 400 lb becomes ± 300 lb at the limit')
  await expect(first).toContainText('worth sending it')
  await expect(table.locator('tbody tr').last()).toContainText('when it passes a scale')
  await expect(first).toContainText(/not weighed loaded since \d{4}-\d\d-\d\d/)
  await expect(page.getByText('Never tee into brake air.')).toBeVisible()
  expect(await violations(page)).toEqual([])
  await table.getByRole('link', { name: 'T-103' }).click()
  await expect(page.getByRole('heading', { name: 'T-103', level: 1 })).toBeVisible()
})

test('the Unit sheet says in one sentence what the next weighing would bring, and of a sure line nothing', async ({
  unit,
}) => {
  await unit.open('T-103')
  await expect(
    unit.page.getByText(
      /^One weighing loaded on Millrace Yard would make its best weight at the limit good to ± [\d,]+ lb, now ± [\d,]+ lb: not weighed loaded since \d{4}-\d\d-\d\d\.$/,
    ),
  ).toBeVisible()
  expect(await violations(unit.page)).toEqual([])
  await unit.open('T-101')
  await expect(unit.page.getByText(/^One weighing/)).toHaveCount(0)
})

test('a fleet whose lines are all sure, or all to be calibrated first, is sent nowhere', async ({ page, emptyApp }) => {
  await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'bare'), [{ unit: 'T-301' }]))
  await admit(page, emptyApp)
  await page.goto(`${emptyApp.origin}/#/shop?part=weigh`)
  await expect(page.getByText(/^No weighing would make a weight at the limit any surer now/)).toBeVisible()
  expect(await violations(page)).toEqual([])
  await page.goto(`${emptyApp.origin}/#/roster`)
  await page.getByRole('grid', { name: 'Units' }).waitFor()
  await expect(page.getByRole('link', { name: /^Weigh this week/ })).toHaveCount(0)
})
