import Database from 'better-sqlite3'
import { copyFileSync, existsSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { overwriteBytes } from '../faults/fleet-files.ts'
import { smallDisk } from '../faults/small-disk.ts'
import { layFleet, startApp, startAppOn } from './app.ts'
import { smallFleet, writeFleetFolder } from './fleet-folder.ts'
import { admit, expect, test } from './fixtures.ts'
import { CopiesPage } from './pages/copies-page.ts'
import { RosterPage } from './pages/roster-page.ts'
import { violations } from './violations.ts'
import { timeNow } from '#core/store/clock.ts'

test('a file broken with a hex editor: the window opens, offers the newest whole copy, and the Roster is back after one confirmed action', async ({
  page,
}) => {
  const first = await startAppOn('small')
  const file = join(first.folder, 'fleet.tareline')
  const copies = `${file} copies`
  // The day's copy comes by itself a few seconds after the start; one more is broken below.
  await expect
    .poll(() => existsSync(copies) && readdirSync(copies).filter((name) => name.includes('-day-')).length)
    .toBe(1)
  await admit(page, first)
  const before = new CopiesPage(page, first.origin)
  await before.open()
  await before.keepOne()
  await expect(before.copy('By hand')).toHaveCount(1)
  await first.stop({ keep: true })
  overwriteBytes(file)
  overwriteBytes(join(copies, readdirSync(copies).find((name) => name.includes('by-hand')) ?? ''))
  const broken = readFileSync(file)

  const app = await startApp({ folder: first.folder })
  try {
    await admit(page, app)
    // However the person comes in, the screen that helps is what is there.
    await page.goto(`${app.origin}/#/roster`)
    const screen = new CopiesPage(page, app.origin)
    const alert = page.getByRole('alert')
    await expect(alert.getByRole('heading', { name: 'fleet.tareline is damaged' })).toBeVisible()
    await expect(alert).toContainText('was left as it is')
    await expect(alert).toContainText('8 units')
    await expect(screen.copy('By hand')).toContainText('damaged')
    expect(await violations(page)).toEqual([])
    await alert.getByRole('button', { name: 'Restore this copy…' }).click()
    await expect(screen.dialog).toContainText('is set aside beside it under another name, byte for byte')
    // The window asks again every few seconds whether a file is open; the screen must not move under the person's
    // hands.
    await page.waitForResponse(/\/rpc\/file\/state/)
    await page.waitForResponse(/\/rpc\/file\/state/)
    await expect(screen.dialog).toBeVisible()
    await screen.confirm()
    await expect.poll(() => new RosterPage(page, app.origin).numbers()).toHaveLength(8)
    const aside = readdirSync(app.folder).find((name) => name.startsWith('fleet (set aside')) ?? ''
    expect(readFileSync(join(app.folder, aside)).equals(broken)).toBe(true)
    expect(readdirSync(copies).filter((name) => name.includes('-day-'))).toHaveLength(1)

    // Away altogether while it is open: what was saved is rescued and offered.
    rmSync(file)
    await expect(
      page.getByRole('alert').getByRole('heading', { name: 'fleet.tareline is no longer there' }),
    ).toBeVisible()
    await expect(screen.copy('Rescued')).toContainText('whole')
    await page.getByRole('alert').getByRole('button', { name: 'Restore this copy…' }).click()
    await screen.confirm()
    await expect.poll(() => new RosterPage(page, app.origin).numbers()).toHaveLength(8)
  } finally {
    await app.stop()
  }
})

test('by keyboard: see what is in each copy, restore one, and go back again', async ({ emptyApp, page }) => {
  // One moment for both folders: a minute that passes between them would make the same tickets contradict each other.
  const plannedAt = timeNow()
  await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'small'), smallFleet.slice(0, 3), plannedAt))
  const screen = new CopiesPage(page, emptyApp.origin)
  await page.goto(`${emptyApp.origin}/#/folder`)
  await page.getByRole('link', { name: 'See the copies and restore one' }).click()
  await expect(page.getByRole('heading', { name: 'Copies of fleet.tareline', level: 1 })).toBeFocused()
  await screen.keepOne()
  await expect(screen.copy('By hand')).toContainText('whole')
  await emptyApp.bringIn(writeFleetFolder(join(emptyApp.folder, 'all'), smallFleet, plannedAt))
  await screen.open()
  await expect(screen.copy('The open file').getByRole('cell').nth(2)).toHaveText('8')
  await expect(screen.copy('By hand').getByRole('cell').nth(2)).toHaveText('3')

  await screen
    .copy('By hand')
    .getByRole('button', { name: /^Restore/ })
    .focus()
  await page.keyboard.press('Enter')
  await expect(screen.dialog.getByRole('row', { name: /^Units 8 3$/ })).toBeVisible()
  expect(await violations(page)).toEqual([])
  await page.keyboard.press('Escape')
  await expect(screen.copy('By hand').getByRole('button', { name: /^Restore/ })).toBeFocused()
  await page.keyboard.press('Enter')
  await expect(screen.dialog.getByRole('button', { name: 'Restore this copy' })).toBeFocused()
  await page.keyboard.press('Enter')
  await expect(page.getByRole('heading', { name: 'Restored' })).toBeFocused()
  await expect(screen.copy('The open file').getByRole('cell').nth(2)).toHaveText('3')
  await expect(page.getByRole('heading', { name: 'Restored' })).toBeFocused()
  expect(await violations(page)).toEqual([])
  await screen
    .copy('Before a restore')
    .getByRole('button', { name: /^Restore/ })
    .click()
  await screen.confirm()
  await expect(screen.copy('The open file').getByRole('cell').nth(2)).toHaveText('8')

  await page.getByRole('textbox', { name: 'Copy on this computer' }).fill(join(emptyApp.folder, 'nowhere.tareline'))
  await page.getByRole('button', { name: 'Restore it' }).click()
  await expect(page.getByRole('alert')).toContainText('is no longer there')
})

test('indexes that were damaged are made anew as the file is opened, which is said until somebody has seen it', async ({
  page,
}) => {
  const folder = await layFleet('small')
  const file = join(folder, 'fleet.tareline')
  const raw = new Database(file)
  raw.exec('drop index reading_by_time')
  raw.close()
  const app = await startApp({ folder })
  try {
    await admit(page, app)
    await page.goto(`${app.origin}/#/roster`)
    await page.getByRole('link', { name: 'File repaired' }).click()
    const notice = page.getByRole('alert').filter({ hasText: 'was rebuilt' })
    await expect(notice).toContainText('the index reading_by_time is missing')
    expect(await violations(page)).toEqual([])
    await notice.getByRole('button', { name: 'I have seen this' }).click()
    await expect(notice).toHaveCount(0)
    await expect(page.getByRole('link', { name: 'File repaired' })).toHaveCount(0)
  } finally {
    await app.stop()
  }
})

test('a file on a read-only disk: the window offers to look at it, says so above each screen, and offers no copy', async ({
  page,
}) => {
  const folder = await layFleet('small')
  const disk = smallDisk(join(folder, 'disk'), 6)
  if (typeof disk === 'string') return test.skip(true, disk)
  const file = join(disk.folder, 'fleet.tareline')
  copyFileSync(join(folder, 'fleet.tareline'), file)
  disk.writable(false)
  const app = await startApp({ folder, file })
  try {
    await admit(page, app)
    await page.goto(`${app.origin}/#/roster`)
    const alert = page.getByRole('alert')
    await expect(alert.getByRole('heading', { name: 'fleet.tareline can only be looked at' })).toBeVisible()
    expect(await violations(page)).toEqual([])
    await alert.getByRole('button', { name: 'Look at it' }).click()
    await expect.poll(() => new RosterPage(page, app.origin).numbers()).toHaveLength(8)
    const strip = page.getByRole('complementary', { name: 'Open to look at only' })
    await expect(strip).toContainText('fleet.tareline as it was on')
    expect(await violations(page)).toEqual([])
    await page.goto(`${app.origin}/#/copies`)
    await expect(page.getByRole('heading', { name: 'Copies of fleet.tareline' })).toBeVisible()
    await expect(page.getByRole('button', { name: 'Copy now' })).toHaveCount(0)
    await page.goto(`${app.origin}/#/weigh/T-101`)
    await expect(strip).toBeVisible()
    expect(readdirSync(disk.folder)).toEqual(['fleet.tareline'])
  } finally {
    await app.stop({ keep: true })
    disk[Symbol.dispose]()
    rmSync(folder, { recursive: true, force: true })
  }
})
