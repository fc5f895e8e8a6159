import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { smallFleet, writeFleetFolder } from './fleet-folder.ts'
import { expect, test } from './fixtures.ts'
import { violations } from './violations.ts'

test.setTimeout(180_000)

test('Roster, its empty filter, quick open and help', async ({ roster }) => {
  const { page } = roster
  await roster.open('?trust=upset,sound&at=T-101')
  await roster.units.focus()
  expect(await violations(page)).toEqual([])
  await page.keyboard.press('/')
  await page.getByRole('listbox', { name: 'Places' }).getByRole('option').first().waitFor()
  expect(await violations(page)).toEqual([])
  await page.keyboard.press('Escape')
  await page.keyboard.press('?')
  await page.getByRole('dialog', { name: 'Help' }).waitFor()
  expect(await violations(page)).toEqual([])
  await roster.open('?text=nothing-like-this')
  await page.getByText('No unit matches these filters.').waitFor()
  expect(await violations(page)).toEqual([])
})

test('Unit sheet with chart, table, figures, no line and no unit', async ({ unit }) => {
  const { page } = unit
  await unit.open('T-101')
  await unit.readAt(50)
  expect(await violations(page)).toEqual([])
  await unit.show('Table')
  expect(await violations(page)).toEqual([])
  await unit.open('T-104')
  await unit.findings.getByText('Figures').first().click()
  expect(await violations(page)).toEqual([])
  await unit.open('T-105')
  expect(await violations(page)).toEqual([])
  await unit.open('T-999')
  await page.getByRole('alert').waitFor()
  expect(await violations(page)).toEqual([])
})

test('Fleet folder: at rest, stored, refused, failed, written; and a file without units', async ({
  folder,
  emptyApp,
  page,
}) => {
  await page.goto(`${emptyApp.origin}/`)
  await page.getByRole('heading', { name: 'First weight' }).waitFor()
  expect(await violations(page)).toEqual([])
  await folder.open()
  expect(await violations(page)).toEqual([])
  await folder.type(join(emptyApp.folder, 'nowhere'))
  await page.getByRole('alert').waitFor()
  expect(await violations(page)).toEqual([])
  const fleet = writeFleetFolder(join(emptyApp.folder, 'fleet'), smallFleet)
  await folder.pick(fleet)
  await folder.outcome('Imported').waitFor()
  await folder.writeOut(join(emptyApp.folder, 'out'))
  await page.getByRole('heading', { name: /Written to/ }).waitFor()
  expect(await violations(page)).toEqual([])
  await folder.again()
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-900,lorry\r\n')
  await folder.pick(fleet)
  await folder.outcome('Not imported').waitFor()
  expect(await violations(page)).toEqual([])
})

test('the check itself sees a fault that only one scheme has', async ({ page }) => {
  await page.setContent(
    '<html lang="en"><title>Faint</title><style>@media (prefers-color-scheme: dark) { p { color: #888; background: #777 } }</style><main><h1>Faint</h1><p>faint</p></main></html>',
  )
  expect(await violations(page)).toEqual([expect.stringMatching(/^dark, color-contrast: p: /)])
})
