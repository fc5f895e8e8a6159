import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { jpegPhoto, pdfScan } from '#tests/store/attachment-samples.ts'
import { largeFleet, smallFleet, writeFleetFolder } from './fleet-folder.ts'
import { expect, test } from './fixtures.ts'
import { AboutPage } from './pages/about-page.ts'
import { RosterPage } from './pages/roster-page.ts'
import { violations } from './violations.ts'

test('an empty file leads to a folder or the demo fleet', async ({ emptyApp, page }) => {
  await page.goto(`${emptyApp.origin}/`)
  await expect(page.getByRole('heading', { name: 'First weight' })).toBeVisible()
  await page.getByRole('link', { name: 'Import a fleet folder' }).click()
  await expect(page.getByRole('heading', { name: 'Fleet folder', level: 1 })).toBeFocused()
  await page.goBack()
  await page.getByRole('button', { name: 'Open the demo fleet' }).click()
  await expect(page.getByRole('grid', { name: 'Units' })).toBeVisible({ timeout: 60_000 })
  await expect(page.getByRole('banner')).toContainText('Demo fleet')
})

test('imports a picked folder with scans of its tickets; the second time nothing is new', async ({
  folder,
  emptyApp,
  page,
}) => {
  const fleet = writeFleetFolder(join(emptyApp.folder, 'picked'), smallFleet)
  writeFileSync(join(fleet, 'notes.txt'), 'not a part of it')
  mkdirSync(join(fleet, 'attachments'))
  writeFileSync(join(fleet, 'attachments/ticket 6-13.jpg'), jpegPhoto)
  writeFileSync(join(fleet, 'attachments/back.pdf'), pdfScan)
  writeFileSync(join(fleet, 'attachments/Thumbs.db'), 'left by another program')
  writeFileSync(
    join(fleet, 'attachments.csv'),
    'scale,ticket,file\nMillrace Yard,6-13,attachments/ticket 6-13.jpg\nMillrace Yard,6-13,attachments/back.pdf\n',
  )
  await folder.open()
  await folder.pick(fleet)
  await expect(folder.outcome('Imported')).toBeFocused()
  expect(await folder.rows('units.csv')).toEqual(['8', '8', '0', '0'])
  expect(await folder.rows('attachments.csv')).toEqual(['2', '2', '0', '0'])
  await folder.again()
  await folder.pick(fleet)
  await expect(folder.outcome('Nothing new')).toBeVisible()
  expect(await folder.rows('units.csv')).toEqual(['8', '0', '0', '8'])
  expect(await folder.rows('attachments.csv')).toEqual(['2', '0', '0', '2'])
  await page.getByRole('link', { name: 'Open the Roster' }).click()
  await expect.poll(() => new RosterPage(page, emptyApp.origin).numbers()).toHaveLength(8)
})

test('refuses a bad folder row by row and stores nothing of it', async ({ folder, emptyApp, page }) => {
  const fleet = writeFleetFolder(join(emptyApp.folder, 'bad'), smallFleet)
  const units = join(fleet, 'units.csv')
  writeFileSync(units, readFileSync(units, 'utf8').replace('T-102,tractor', 'T-102,lorry'))
  await folder.open()
  await folder.pick(fleet)
  await expect(folder.outcome('Not imported')).toBeFocused()
  const row = folder.problems().filter({ hasText: 'lorry' }).first()
  await expect(row).toContainText('units.csv')
  await expect(row).toContainText('kind')
  await expect(row.getByRole('cell').first()).toHaveText('3')
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save as CSV' }).click(),
  ])
  expect(readFileSync(await download.path(), 'utf8')).toContain('units.csv,3,kind,lorry')
  await page.goto(`${emptyApp.origin}/#/roster`)
  await expect(page.getByRole('heading', { name: 'First weight' })).toBeVisible()
})

test('imports a folder by its path, and says why when it cannot', async ({ folder, emptyApp, page }) => {
  const fleet = writeFleetFolder(join(emptyApp.folder, 'typed'), smallFleet)
  await folder.open()
  await folder.type(join(emptyApp.folder, 'nowhere'))
  await expect(page.getByRole('alert')).toContainText('nowhere')
  await folder.type(fleet)
  await expect(folder.outcome('Imported')).toBeVisible()
})

test('stops when cancelled and stores nothing', async ({ folder, emptyApp, page }) => {
  const fleet = writeFleetFolder(join(emptyApp.folder, 'large'), largeFleet(20_000))
  await folder.open()
  await folder.type(fleet)
  await expect(page.getByRole('progressbar')).toBeVisible()
  await folder.cancel()
  await expect(page.getByRole('status')).toContainText('Cancelled')
  await page.goto(`${emptyApp.origin}/#/roster`)
  await expect(page.getByRole('heading', { name: 'First weight' })).toBeVisible()
})

test('writes out what it imported', async ({ folder, emptyApp, page }) => {
  await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'in'), smallFleet))
  await folder.open()
  await folder.writeOut(join(emptyApp.folder, 'out'))
  await expect(page.getByRole('heading', { name: /Written to/ })).toBeVisible()
  expect(readFileSync(join(emptyApp.folder, 'out', 'units.csv'), 'utf8')).toContain('V-1000')
})

test('asks once before it uses a folder that nobody allowed, and takes that back on About', async ({
  folder,
  emptyApp,
  page,
}) => {
  const elsewhere = mkdtempSync(join(tmpdir(), 'tareline-elsewhere-'))
  try {
    await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'in'), smallFleet))
    const out = join(elsewhere, 'out')
    await folder.open()
    await folder.writeOut(out)
    const question = page.getByRole('dialog', { name: 'Allow this folder?' })
    await expect(question).toContainText(out)
    expect(await violations(page)).toEqual([])
    await page.keyboard.press('Escape')
    await expect(page.getByRole('alert')).toContainText(`${out} lies outside the folders that`)
    expect(existsSync(out)).toBe(false)
    await folder.writeOut(out)
    await question.getByRole('button', { name: 'Allow this folder' }).click()
    await expect(page.getByRole('heading', { name: /Written to/ })).toBeVisible()
    expect(existsSync(join(out, 'units.csv'))).toBe(true)

    const about = new AboutPage(page, emptyApp.origin)
    await about.open()
    await expect(about.folders.filter({ hasText: out })).toContainText('Typed and confirmed')
    await about.allow(elsewhere)
    await expect(about.folders.filter({ hasText: 'Typed and confirmed' })).toHaveCount(2)
    expect(await violations(page)).toEqual([])
    await page.getByRole('button', { name: `Take back ${out}` }).click()
    await expect(about.folders.filter({ hasText: 'Typed and confirmed' })).toHaveCount(1)
  } finally {
    rmSync(elsewhere, { recursive: true, force: true })
  }
})

test('says that a folder without fleet files holds none', async ({ folder, emptyApp, page }) => {
  const other = join(emptyApp.folder, 'other')
  writeFleetFolder(join(other, 'nested'), smallFleet)
  writeFileSync(join(other, 'readme.txt'), 'nothing here')
  await folder.open()
  await folder.pick(other)
  await expect(page.getByRole('alert')).toContainText('holds none of the twelve files')
})
